"""Whether stored points still follow from what is stored with them.

GPS legs are solved anew from what is stored of them. Manoeuvres cannot be, since their
samples are not kept. Legs of older versions do not tell their recovery factor, so 0, 1 and
the one of the settings are tried.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import Final

import numpy as np

from fleetcal.airdata.leg_solution import solve_legs
from fleetcal.airdata.position_error import corrections
from fleetcal.airdata.reading import Readings
from fleetcal.errors import OutOfRangeError
from fleetcal.records import GPS_LEGS, Leg
from fleetcal.store import StoredPoint
from fleetcal.units import MPS_PER_KT, from_si, to_si

_RELATIVE: Final = 1e-6
# Legs of older versions do not tell: the temperature of the air, the total one, or that of the
# probe of the settings.
_STATED_FACTORS: Final = (0.0, 1.0)
_KAPPA_NEAR: Final = 1e-6


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
    for number, rows in by_sortie.items():
        factors = {*_STATED_FACTORS, *_probe(settings.get(number, "{}"))}
        for point in rows:
            for fault in _from_legs(point, legs.get(number, ()), factors):
                yield f"point {point.point_id} of {point.airframe}", fault


def _from_legs(point: StoredPoint, legs: Sequence[Leg], factors: Iterable[float]) -> Iterator[str]:
    """Say whether a point follows from the legs of the run that has its number."""
    runs = {run: list(group) for run, group in groupby(legs, key=lambda leg: leg.run_number)}
    solved = {run: own for run, own in runs.items() if len(own) >= 3 and _is_complete(own)}
    own = solved.pop(point.number, None)
    if not runs or (own is not None and _gives(own, point.kappa, factors)):
        return
    others = [run for run, legs in solved.items() if _gives(legs, point.kappa, factors)]
    if others:
        yield (
            f"its number is that of run {point.number}, and its legs are those of run "
            f"{others[0]}; 'fleetcal reduce {point.source_name} --again --replace' mends it"
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
        u_kappa = float(np.sqrt(sum(term.u_kappa**2 for term in point.terms)))
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


def _gives(run: Sequence[Leg], kappa: float, factors: Iterable[float]) -> bool:
    """Tell whether a run, solved anew, has this kappa."""
    values = {
        name: np.array([[float(getattr(leg, name)) for leg in run]])
        for name in (
            "vic_kt",
            "pressure_altitude_ft",
            "oat_degc",
            "ground_east_kt",
            "ground_north_kt",
        )
    }
    moist = np.array([[to_si(leg.humidity_pct or 0.0, "%") for leg in run]])
    if run[0].recovery_factor is not None:
        factors = {run[0].recovery_factor}
    for factor in factors:
        readings = Readings(
            airspeed_mps=values["vic_kt"] * MPS_PER_KT,
            altitude_m=np.asarray(to_si(values["pressure_altitude_ft"], "ft")),
            temperature_k=values["oat_degc"] + 273.15,
            recovery_factor=np.full_like(values["vic_kt"], factor),
            relative_humidity=moist,
        )
        east, north = (values[f"ground_{way}_kt"] * MPS_PER_KT for way in ("east", "north"))
        try:
            solution = solve_legs(east, north, readings)
        except OutOfRangeError:
            return False
        if abs(float(solution.kappa[0]) - kappa) < _KAPPA_NEAR:
            return True
    return False
