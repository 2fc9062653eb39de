"""Whether stored points still follow from what is stored with them.

A point of GPS legs must have the mean airspeed and altitude of the legs of its run. Its kappa
must be what the means of the legs say, of its run by itself or of all runs under one moving
wind, within several times what wind and gusts leave open: the samples, which decide, are not
kept. Runs by themselves are solved all at once by least squares first, and only what that does
not explain one by one. Manoeuvres and ordinary flights leave no legs. Legs of older versions do
not tell their recovery factor, so 0, 1 and the one of the settings are tried.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.flight_pieces import LEG_EVERY_S, Stretch, cut
from fleetcal.airdata.many_runs import steady_kappas
from fleetcal.airdata.position_error import corrections
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.solve_pieces import solve_pieces
from fleetcal.airdata.wind_strengths import STILL, AirPrior
from fleetcal.errors import OutOfRangeError
from fleetcal.records import GPS_LEGS, Leg
from fleetcal.store import StoredPoint
from fleetcal.units import MPS_PER_KT, from_si, to_si

_RELATIVE: Final = 1e-6
# Legs of older versions do not tell: the temperature of the air, the total one, or that of the
# probe of the settings.
_STATED_FACTORS: Final = (0.0, 1.0)
#: A kappa may be so many standard uncertainties, of what wind and gusts leave, from that of the
#: means of its legs, and always so far: in simulated flights of many kinds it was 1.4 of them.
_TIMES_U: Final = 4.0
_ALWAYS_ALIKE: Final = 0.005
#: Fewer strengths of the air than a reduction tries, which is near enough.
_MOVING: Final = AirPrior(
    noise=(0.1, 0.3, 0.8, 2.5, 8.0), wander_kt=(0.1, 0.4, 1.2, 4.0, 14.0), drift_times=(1.0, 9.0)
)


def broken_points(
    points: Sequence[StoredPoint],
    legs: Mapping[int, Sequence[Leg]],
    settings: Mapping[int, str],
) -> Iterator[tuple[str, str]]:
    """Yield points that do not follow, as (where, what is wrong).

    Args:
        legs: By sortie.
        settings: What each sortie was reduced with, as JSON.

    Yields:
        where, what: Corrections must follow from kappa, the uncertainty from its terms, and kappa
            of GPS legs from the legs of the run that has its number, solved anew.
    """
    for point in points:
        where = f"point {point.point_id} of {point.airframe}"
        for fault in _from_kappa(point):
            yield where, fault
    by_sortie: dict[int, list[StoredPoint]] = defaultdict(list)
    for point in points:
        if point.technique == GPS_LEGS:
            by_sortie[point.sortie_id].append(point)
    flights = {
        number: _Flown(
            legs.get(number, ()),
            [point.number for point in rows if point.accepted],
            {*_STATED_FACTORS, *_probe(settings.get(number, "{}"))},
        )
        for number, rows in by_sortie.items()
    }
    _look_at_all(list(flights.values()))
    for number, rows in by_sortie.items():
        flown = flights[number]
        for point in rows:
            for fault in _from_legs(point, flown):
                yield f"point {point.point_id} of {point.airframe}", fault


class _Flown:
    """The legs of a sortie, solved anew as far as their means tell."""

    def __init__(
        self, legs: Sequence[Leg], accepted: Iterable[int], factors: Collection[float]
    ) -> None:
        runs = {run: list(group) for run, group in groupby(legs, key=lambda leg: leg.run_number)}
        self.has_legs = bool(runs)
        self.runs = {run: own for run, own in runs.items() if len(own) >= 3 and _is_complete(own)}
        self._accepted = tuple(run for run in self.runs if run in set(accepted))
        self._factors = factors
        #: Kappa of a run by itself, by least squares; by run and recovery factor.
        self.alone: dict[tuple[int, float], float] = {}
        self._solved: dict[tuple[tuple[int, ...], float], dict[int, float]] = {}

    def factors(self, run: int) -> Collection[float]:
        """Return what the recovery factor of a run may be."""
        stated = self.runs[run][0].recovery_factor
        return self._factors if stated is None else {stated}

    def kappas(self, run: int, factor: float) -> Iterator[float]:
        """Yield what kappa of a run may be: by itself, or with the runs that it may join."""
        yield self.alone.get((run, factor), np.nan)
        every = tuple(self.runs)
        for numbers in dict.fromkeys(((run,), every, self._accepted)):
            if run in numbers:
                yield self._together(numbers, factor)[run]

    def _together(self, numbers: tuple[int, ...], factor: float) -> dict[int, float]:
        key = numbers, factor
        if key not in self._solved:
            self._solved[key] = _solved([self.runs[run] for run in numbers], numbers, factor)
        return self._solved[key]


def _from_legs(point: StoredPoint, flown: _Flown) -> Iterator[str]:
    """Say whether a point follows from the legs of the run that has its number."""
    given = [run for run in flown.runs if _gives(flown, run, point)]
    if not flown.has_legs or point.number in given:
        return
    if given:
        yield (
            f"its number is that of run {point.number}, and its legs are those of run "
            f"{given[0]}; 'fleetcal reduce {point.source_name} --again --replace' mends it"
        )
    else:
        yield f"kappa {point.kappa:+.5f} does not follow from its stored legs"


def _from_kappa(point: StoredPoint) -> Iterator[str]:
    altitude_m = to_si(point.pressure_altitude_ft, "ft")
    try:
        expected = corrections(point.vic_kt * MPS_PER_KT, altitude_m, point.kappa)
    except OutOfRangeError as error:
        yield error.message
        return
    for name, stored, found in (
        ("dvpc_kt", point.dvpc_kt, from_si(float(expected.airspeed_mps), "kt")),
        ("dhpc_ft", point.dhpc_ft, from_si(float(expected.altitude_m), "ft")),
    ):
        if abs(stored - found) > _RELATIVE * max(1.0, abs(found)):
            yield f"{name} is {stored:.3f}, and {found:.3f} by its kappa"
    if point.terms:
        u_kappa = float(np.sqrt(sum(term.u_kappa * term.u_kappa for term in point.terms)))
        if abs(u_kappa - point.u_kappa) > _RELATIVE * u_kappa:
            yield f"u_kappa is {point.u_kappa:.6f}, and {u_kappa:.6f} by its terms"


def _probe(settings_json: str) -> list[float]:
    """Return the recovery factor of the settings, if they have one."""
    try:
        factor = json.loads(settings_json)["probe"]["recovery_factor"]
    except (ValueError, KeyError, TypeError):
        return []
    return [float(factor)] if isinstance(factor, int | float) else []


def _is_complete(run: Sequence[Leg]) -> bool:
    names = ("oat_degc", "ground_east_kt", "ground_north_kt")
    return all(getattr(leg, name) is not None for leg in run for name in names)


def _gives(flown: _Flown, run: int, point: StoredPoint) -> bool:
    """Tell whether a point can be of the legs of a run."""
    legs = flown.runs[run]
    airspeed, altitude = (
        float(np.mean([getattr(leg, name) for leg in legs]))
        for name in ("vic_kt", "pressure_altitude_ft")
    )
    if abs(airspeed - point.vic_kt) > _RELATIVE * airspeed:
        return False
    if abs(altitude - point.pressure_altitude_ft) > max(_RELATIVE * abs(altitude), 1e-3):
        return False
    by_air = np.sqrt(sum(term.u_kappa**2 for term in point.terms if term.kind == "A"))
    allowed = max(_TIMES_U * float(by_air if point.terms else point.u_kappa), _ALWAYS_ALIKE)
    return any(
        abs(kappa - point.kappa) <= allowed
        for factor in flown.factors(run)
        for kappa in flown.kappas(run, factor)
    )


def _look_at_all(flights: Sequence[_Flown]) -> None:
    """Work out kappa of every run by itself, all at once; the others are looked at later anyway."""
    tried = [
        (flown, run, factor)
        for flown in flights
        for run in flown.runs
        for factor in flown.factors(run)
    ]
    legs = [
        (place, leg, factor)
        for place, (flown, run, factor) in enumerate(tried)
        for leg in flown.runs[run]
    ]
    if not legs:
        return
    try:
        found = steady_kappas(
            np.array([place for place, _, _ in legs]),
            np.array([leg.ground_east_kt or 0.0 for _, leg, _ in legs]) * MPS_PER_KT,
            np.array([leg.ground_north_kt or 0.0 for _, leg, _ in legs]) * MPS_PER_KT,
            _readings([leg for _, leg, _ in legs], [factor for _, _, factor in legs]),
        )
    except OutOfRangeError:  # of a damaged leg, which is named when it is looked at by itself
        return
    for (flown, run, factor), kappa in zip(tried, found.tolist(), strict=True):
        flown.alone[run, factor] = kappa


def _readings(legs: Sequence[Leg], factors: Sequence[float]) -> Readings:
    return Readings(
        airspeed_mps=np.array([leg.vic_kt * MPS_PER_KT for leg in legs]),
        altitude_m=np.array([to_si(leg.pressure_altitude_ft, "ft") for leg in legs]),
        temperature_k=np.array([(leg.oat_degc or 0.0) + 273.15 for leg in legs]),
        recovery_factor=np.array(factors),
        relative_humidity=np.array([to_si(leg.humidity_pct or 0.0, "%") for leg in legs]),
    )


def _solved(
    runs: Sequence[Sequence[Leg]], numbers: Sequence[int], factor: float
) -> dict[int, float]:
    """Return kappa of each run from the means of its legs; NaN if there is none.

    A run by itself is solved in a steady wind, runs together in one that moves.
    """
    stretches: list[Stretch] = []
    for group, legs in enumerate(runs):
        for leg in legs:
            place = len(stretches)
            middle = LEG_EVERY_S * place
            if leg.start_s is not None and leg.stop_s is not None:
                middle = (leg.start_s + leg.stop_s) / 2.0
            stretches.append(_stretch(group, leg, middle, factor))
    try:
        found = solve_pieces(cut(stretches), STILL if len(runs) == 1 else _MOVING).kappa
    except OutOfRangeError:
        return dict.fromkeys(numbers, float(np.nan))
    return dict(zip(numbers, found.tolist(), strict=True))


def _stretch(group: int, leg: Leg, time_s: float, factor: float) -> Stretch:
    def one(value: float) -> Array:
        return np.array([value])

    return Stretch(
        group=group,
        time_s=one(time_s),
        east_mps=one((leg.ground_east_kt or 0.0) * MPS_PER_KT),
        north_mps=one((leg.ground_north_kt or 0.0) * MPS_PER_KT),
        readings=_readings([leg], [factor]),
    )
