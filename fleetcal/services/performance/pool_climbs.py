"""The pooled curve of climbs or glides of one pairing, and its best speeds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.performance.path_coefficient import (
    BEST_ANGLE,
    BEST_RATE,
    rate_from_coefficient,
)
from fleetcal.errors import DataError, FitError, UnknownNameError
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.best_lift import BestLift, best_lift
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.outliers import Verdicts, judge_fleet
from fleetcal.fleet.pooled import FEWEST_AIRCRAFT, PooledFit, supported_order
from fleetcal.fleet.port_pooling import pool_pairings
from fleetcal.services.handbook.fitted_port import FittedPort, spans_flown
from fleetcal.services.performance.climb_groups import (
    ClimbPoints,
    ClimbRequest,
    gather_climbs,
    standard_tas_mps,
)
from fleetcal.services.performance.handbook_beside import HandbookBeside, handbook_beside
from fleetcal.store import Store
from fleetcal.units import MPS_PER_FTMIN

#: Chance of any false flag among the airframes judged, and the least departure that is told:
#: common practice, no published source.
FAMILY_LEVEL: Final = 0.05
LEAST_FTMIN: Final = 50.0


@dataclass(frozen=True)
class RateRow:
    """The rate at one CAS, positive upwards, with 95 % bands of the mean and the next aircraft."""

    cas_kt: float
    ias_kt: float | None
    rate_ftmin: float
    mean_low_ftmin: float
    mean_high_ftmin: float
    next_low_ftmin: float
    next_high_ftmin: float


@dataclass(frozen=True)
class BestSpeed:
    """One best speed with its 95 % interval; empty with the reason in `note`."""

    speed: str
    cas_kt: float | None
    low_kt: float | None
    high_kt: float | None
    ias_kt: float | None
    rate_ftmin: float | None
    ratio: float | None
    note: str


@dataclass(frozen=True)
class AirframeRate:
    """One airframe against the others of its pairing, at one CAS."""

    airframe: str
    measurements: int
    departure_ftmin: float | None
    adjusted_p_value: float | None
    verdict: str


@dataclass(frozen=True)
class PooledClimbs:
    """Climbs or glides of one pairing, pooled.

    Attributes
    ----------
    type, kind, pairing, power_state, flap_setting : str
    weight_kg, altitude_ft : float
        That the rates are for, in standard air.
    rows : tuple of RateRow
    speeds : tuple of BestSpeed
    airframes : tuple of AirframeRate
    judged_at_kt : float
        CAS at which airframes are compared.
    measurements : int
    order : int
    phi : float
    notes : tuple of str
    handbook : tuple of HandbookBeside
        Best speeds that a handbook of the type names too.
    """

    type: str
    kind: str
    pairing: str
    power_state: str
    flap_setting: str
    weight_kg: float
    altitude_ft: float
    rows: tuple[RateRow, ...]
    speeds: tuple[BestSpeed, ...]
    airframes: tuple[AirframeRate, ...]
    judged_at_kt: float
    measurements: int
    order: int
    phi: float
    notes: tuple[str, ...]
    handbook: tuple[HandbookBeside, ...] = ()


def pool_climbs(store: Store, request: ClimbRequest) -> PooledClimbs:
    """Pool the climbs or glides of a pairing together with the other pairings of the type.

    Parameters
    ----------
    store : Store
    request : ClimbRequest

    Returns
    -------
    PooledClimbs

    Raises
    ------
    UnknownNameError
        If type or pairing are not there.
    DataError
        If several could be meant.
    FitError
        If too few airframes flew.
    """
    known = gather_climbs(store, request)
    group = _group(known, request)
    verdicts = judge_fleet(known.points, FAMILY_LEVEL)
    fit, _ = fit_checked(known.points)  # bands as wide as the points ask for
    pooled = _Pooled(known, verdicts, group, fit)
    speeds = tuple(pooled.best(name, power) for name, power in _SPEEDS[request.kind])
    judged_at = next((s.cas_kt for s in speeds if s.cas_kt is not None), pooled.middle_kt)
    return PooledClimbs(
        known.type.name,
        request.kind,
        known.pairings[group],
        known.power_state,
        request.flap_setting,
        known.type.reference_weight_kg,
        pooled.altitude_ft,
        pooled.rows(request.step_kt),
        speeds,
        pooled.airframes(judged_at),
        judged_at,
        len(pooled.mine),
        pooled.fit.order,
        pooled.fit.phi,
        (*_between_pairings(known), *known.notes),
        handbook_beside(store, known.type.name, request.flap_setting, speeds),
    )


def _between_pairings(known: ClimbPoints) -> tuple[str, ...]:
    """Return in words whether engine and propeller matter, by the fit of a port's pairings."""
    count = len(known.pairings)
    if count < 2:
        return ()
    fit, _ = fit_checked(known.points, supported_order(known.points))  # not chosen for its size
    chance = float(pool_pairings(fit, np.zeros(count, dtype=np.int64)).alike[0])
    if np.isnan(chance):
        return ()
    differ = "differ" if chance < FAMILY_LEVEL else "are not seen to differ"
    told = "below 0.1 %" if chance < 0.001 else f"{100.0 * chance:.1f} %"
    return (
        f"the {count} pairings flown {differ}: so large differences come by themselves with a "
        f"chance of {told}",
    )


_SPEEDS: Final = {
    "climb": (("best rate of climb", BEST_RATE), ("best angle of climb", BEST_ANGLE)),
    "glide": (("best glide", BEST_ANGLE), ("least sink", BEST_RATE)),
}


def _group(known: ClimbPoints, request: ClimbRequest) -> int:
    if request.pairing is None:
        if len(known.pairings) > 1:
            raise DataError(
                f"several pairings were flown: {'; '.join(known.pairings)}", "name one of them"
            )
        return 0
    names = [name.casefold() for name in known.pairings]
    if request.pairing.strip().casefold() not in names:
        raise UnknownNameError(
            f"no pairing {request.pairing!r} was flown by {FEWEST_AIRCRAFT} airframes",
            f"known: {'; '.join(known.pairings)}",
        )
    return names.index(request.pairing.strip().casefold())


@dataclass(frozen=True)
class _Pooled:
    known: ClimbPoints
    verdicts: Verdicts
    group: int
    fit: PooledFit

    @property
    def mine(self) -> list[int]:
        owner = self.known.points.group_of[self.known.points.aircraft]
        return [int(i) for i in np.flatnonzero(owner == self.group)]

    @property
    def altitude_ft(self) -> float:
        heights = [self.known.rows[i].pressure_altitude_ft for i in self.mine]
        return float(np.round(np.median(heights), -2))

    @property
    def middle_kt(self) -> float:
        return float(np.median(self.speeds_of(self.mine)))

    def speeds_of(self, places: list[int]) -> Array:
        """CAS at reference weight."""
        lift = self.known.points.lift[places]
        return np.asarray(self.known.type.scaling_speed_kt / np.sqrt(lift))

    def lift(self, cas_kt: Array) -> Array:
        return np.asarray((self.known.type.scaling_speed_kt / cas_kt) ** 2)

    def rate_ftmin(self, y: Array, cas_kt: Array) -> Array:
        tas = standard_tas_mps(cas_kt, self.altitude_ft)
        return rate_from_coefficient(y, tas, self.lift(cas_kt)) / MPS_PER_FTMIN

    def span(self) -> tuple[float, float]:
        """Slowest and fastest CAS that three airframes flew."""
        ranges = []
        points = self.known.points
        for aircraft in sorted({int(points.aircraft[i]) for i in self.mine}):
            speeds = self.speeds_of([i for i in self.mine if points.aircraft[i] == aircraft])
            ranges.append((float(speeds.min()), float(speeds.max())))
        spans = spans_flown(ranges)
        if not spans:
            raise FitError("no speed was flown by three airframes", "fly the same speeds")
        return spans[0][0], spans[-1][1]

    def rows(self, step_kt: float) -> tuple[RateRow, ...]:
        low, high = self.span()
        cas = step_kt * np.arange(np.ceil(low / step_kt), np.floor(high / step_kt) + 1.0)
        if not len(cas):
            return ()
        lift = self.lift(cas)
        mean = self.fit.mean_band(self.group, lift)
        following = self.fit.next_band(self.group, lift)
        columns = [
            self.rate_ftmin(y, cas)
            for y in (mean.centre, mean.low, mean.high, following.low, following.high)
        ]
        ias = self.ias_kt(cas)
        return tuple(
            RateRow(float(cas[i]), ias[i], *(float(column[i]) for column in columns))
            for i in range(len(cas))
        )

    def ias_kt(self, cas_kt: Array) -> list[float | None]:
        """Return what the group's one port shows at a CAS; None for several or no curve."""
        sources = {self.known.rows[i].static_source for i in self.mine}
        port: FittedPort | None = self.known.ports[min(sources)] if len(sources) == 1 else None
        if port is None:
            return [None] * len(cas_kt)
        return [float(v) if np.isfinite(v) else None for v in port.solve(cas_kt).ias_kt]

    def best(self, name: str, power: float) -> BestSpeed:
        slow, fast = self.span()
        ends = self.lift(np.array([fast, slow]))
        try:
            found = best_lift(self.fit, self.group, power, (float(ends[0]), float(ends[1])))
        except FitError as error:
            return BestSpeed(name, None, None, None, None, None, None, error.message)
        return self._told(name, power, found)

    def _told(self, name: str, power: float, found: BestLift) -> BestSpeed:
        scaling = self.known.type.scaling_speed_kt
        cas, low, high = (scaling / float(np.sqrt(s)) for s in (found.lift, found.high, found.low))
        at = np.array([found.lift])
        y = curve_basis(at, self.fit.order) @ self.fit.beta[self.group]
        ratio = float(at[0] / abs(y[0])) if y[0] < 0.0 else None
        open_ends = [w for w, o in (("below", found.high_open), ("above", found.low_open)) if o]
        note = f"no limit {' or '.join(open_ends)} within what was flown" if open_ends else ""
        rate = float(self.rate_ftmin(y, np.array([cas]))[0])
        return BestSpeed(name, cas, low, high, self.ias_kt(np.array([cas]))[0], rate, ratio, note)

    def airframes(self, cas_kt: float) -> tuple[AirframeRate, ...]:
        cas = np.array([cas_kt])
        told = []
        for standing, p in zip(self.verdicts.standings, self.verdicts.adjusted, strict=True):
            if self.known.points.group_of[standing.aircraft] != self.group:
                continue
            basis = curve_basis(self.lift(cas), len(standing.departure) - 1)
            departure = float(self.rate_ftmin(basis @ standing.departure, cas)[0])
            count = int(np.sum(self.known.points.aircraft == standing.aircraft))
            told.append(
                AirframeRate(
                    self.known.airframes[standing.aircraft],
                    count,
                    departure if np.isfinite(departure) else None,
                    float(p) if np.isfinite(p) else None,
                    _verdict(float(p), departure),
                )
            )
        return tuple(told)


def _verdict(p: float, departure_ftmin: float) -> str:
    if not np.isfinite(p):
        return "cannot be told"
    outside = p < FAMILY_LEVEL and abs(departure_ftmin) >= LEAST_FTMIN
    return "outside" if outside else "not shown outside"
