"""The pooled curve of climbs or glides of one pairing, and its best speeds."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.performance.path_coefficient import BEST_ANGLE, BEST_RATE
from fleetcal.errors import FitError
from fleetcal.fleet.best_lift import BestLift, best_lift
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.pooled import PooledFit
from fleetcal.fleet.port_pooling import pool_pairings
from fleetcal.services.curves.airframe_verdict import FAMILY_LEVEL, AirframeVerdict
from fleetcal.services.curves.count_reasons import count_reasons
from fleetcal.services.curves.doubts import doubts_of
from fleetcal.services.curves.pool_of_group import pool_of_group
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.services.handbook.fitted_port import FittedPort, span_flown
from fleetcal.services.performance.best_speed import BestSpeed
from fleetcal.services.performance.climb import RateScale
from fleetcal.services.performance.compare_with_handbook import (
    HandbookSpeedDifference,
    compare_with_handbook,
)
from fleetcal.services.performance.draw_climbs import draw_climbs
from fleetcal.store import Store
from fleetcal.wording import counted, percent


@dataclass(frozen=True, kw_only=True)
class RateRow:
    """The rate at one CAS, positive upwards, with 95 % bands of the mean and the next aircraft."""

    cas_kt: float
    ias_kt: float | None
    rate_ftmin: float
    mean_low_ftmin: float
    mean_high_ftmin: float
    next_low_ftmin: float
    next_high_ftmin: float


@dataclass(frozen=True, kw_only=True)
class IndicatedSpeed:
    """A best speed and its interval as one port shows them; None where nobody flew the port."""

    speed: str
    static_source: str
    ias_kt: float | None
    low_kt: float | None
    high_kt: float | None


@dataclass(frozen=True, kw_only=True)
class AirframeRate:
    """One airframe against the others of its pairing, where it departs most."""

    airframe: str
    measurements: int
    departure_ftmin: float | None
    at_cas_kt: float | None
    p_value: float | None
    adjusted_p_value: float | None
    verdict: str


@dataclass(frozen=True, kw_only=True)
class PooledClimbs:
    """Climbs or glides of one pairing, pooled.

    Attributes:
        weight_kg, altitude_ft: That the rates are for, in standard air.
        handbook: Best speeds that a handbook of the type names too.
        indicated: The best speeds on each port that the group carries.
        doubts: What speaks against the model, and what was made of it.
        left_out: Measurements that are not in the pool, with the reason.
        without: Airframes of the pairing that are not in the pool, each with why.
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
    measurements: int
    order: int
    phi: float
    notes: tuple[str, ...]
    handbook: tuple[HandbookSpeedDifference, ...] = ()
    indicated: tuple[IndicatedSpeed, ...] = ()
    doubts: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    without: tuple[str, ...] = ()


def pool_climbs(
    store: Store,
    request: PoolRequest,
    pairing: str | None = None,
    step_kt: float = 5.0,
    figure: Path | None = None,
) -> PooledClimbs:
    """Pool the climbs or glides of a pairing together with the other pairings of the type.

    Args:
        pairing: ``engine / propeller``; the only one when None.
        figure: Draw the curve into this file, .svg, .png or .pdf.

    Raises:
        UnknownNameError: If type or pairing are not there.
        DataError: If several could be meant, or the figure cannot be written.
        FitError: If too few airframes flew.
    """
    found = pool_of_group(store, request, pairing)
    everybody, known, group = found.everybody, found.pool.known, found.number
    flown, name = known.flown, str(found.name)
    fit, checks = fit_checked(known.points)  # bands as wide as the points ask for
    pooled = _Pooled(known, group, fit)
    speeds = tuple(pooled.best(*best) for best in _SPEEDS[request.quantity.key])
    result = PooledClimbs(
        type=known.type.name,
        kind=request.quantity.key,
        pairing=name,
        power_state=flown.power_state,
        flap_setting=known.flap_setting,
        weight_kg=known.weight_kg,
        altitude_ft=pooled.scale.altitude_ft,
        rows=pooled.rows(step_kt),
        speeds=speeds,
        airframes=tuple(_airframe_rate(one) for one in found.judged if one.group == name),
        measurements=len(known.rows_of(group)),
        order=fit.order,
        phi=fit.phi,
        notes=(*_between_pairings(known), *flown.notes),
        handbook=compare_with_handbook(store, known.type.name, known.flap_setting, speeds),
        indicated=pooled.indicated(speeds),
        doubts=(
            *found.pool.kept_in(found.name),
            *doubts_of(known, group, checks[group], fit),
        ),
        left_out=(*_not_used(everybody), *flown.left_out, *everybody.too_small),
        without=tuple(map(str, found.pool.left_out_of(found.name))),
    )
    if figure is not None:
        draw_climbs(
            known,
            fit,
            group,
            span_kt=pooled.span(),
            speeds=speeds,
            words=_facts(result),
            file=figure,
        )
    return result


def _not_used(known: TypePoints) -> tuple[str, ...]:
    """Return in words what was rejected or is barred."""
    kind = known.quantity.key
    return (
        *count_reasons(((row.airframe, row.reason) for row in known.rejected), kind),
        *count_reasons(((row.airframe, row.barred) for row in known.barred), kind),
    )


def _facts(pooled: PooledClimbs) -> tuple[str, str]:
    """Return title and facts of the figure."""
    return (
        f"{pooled.kind.capitalize()}s of {pooled.pairing}, {pooled.power_state}",
        f"{pooled.type}, flaps {pooled.flap_setting}, {pooled.weight_kg:.0f} kg, standard air at "
        f"{pooled.altitude_ft:.0f} ft; "
        f"{counted(len(pooled.airframes), 'airframe')}, "
        f"{counted(pooled.measurements, 'measurement')}",
    )


def _between_pairings(known: TypePoints) -> tuple[str, ...]:
    """Return in words whether engine and propeller matter, by the fit of a port's pairings."""
    count = len(known.groups)
    if count < 2:
        return ()
    fit, _ = fit_checked(known.points, known.order_of(known.points))  # not chosen for its size
    chance = float(pool_pairings(fit, np.zeros(count, dtype=np.int64)).alike[0])
    if np.isnan(chance):
        return ()
    differ = "differ" if chance < FAMILY_LEVEL else "do not show a difference"
    return (
        f"the {count} pairings flown {differ}: differences this large arise by chance in "
        f"{percent(chance)} of cases",
    )


_SPEEDS: Final = {
    "climb": (("best rate of climb", BEST_RATE), ("best angle of climb", BEST_ANGLE)),
    "glide": (("best glide", BEST_ANGLE), ("least sink", BEST_RATE)),
}


def _airframe_rate(one: AirframeVerdict) -> AirframeRate:
    return AirframeRate(
        airframe=one.airframe,
        measurements=one.points,
        departure_ftmin=one.largest_departure,
        at_cas_kt=one.at_speed_kt,
        p_value=one.p_value,
        adjusted_p_value=one.adjusted_p_value,
        verdict=one.verdict,
    )


@dataclass(frozen=True)
class _Pooled:
    known: TypePoints
    group: int
    fit: PooledFit

    @property
    def scale(self) -> RateScale:
        assert isinstance(self.known.scale, RateScale)  # climbs and glides have it
        return self.known.scale

    def span(self) -> tuple[float, float]:
        """Slowest and fastest CAS that three airframes flew."""
        rows = self.known.rows_of(self.group)
        flown = ((row.airframe, row.speed_at(self.known.weight_kg)) for row in rows)
        return span_flown(flown, "fly the same speeds")

    def rows(self, step_kt: float) -> tuple[RateRow, ...]:
        low, high = self.span()
        cas = step_kt * np.arange(np.ceil(low / step_kt), np.floor(high / step_kt) + 1.0)
        if not len(cas):
            return ()
        x = self.scale.x_at(cas)
        mean = self.fit.mean_band(self.group, x)
        following = self.fit.next_band(self.group, x)
        bands = {
            "rate_ftmin": mean.centre,
            "mean_low_ftmin": mean.low,
            "mean_high_ftmin": mean.high,
            "next_low_ftmin": following.low,
            "next_high_ftmin": following.high,
        }
        columns = {name: self.scale.rate_ftmin(cas, y) for name, y in bands.items()}
        ports = self.ports()
        ias = _shown(ports[0][1], cas) if len(ports) == 1 else [None] * len(cas)
        return tuple(
            RateRow(
                cas_kt=float(cas[i]),
                ias_kt=ias[i],
                **{name: float(column[i]) for name, column in columns.items()},
            )
            for i in range(len(cas))
        )

    def ports(self) -> list[tuple[str, FittedPort | None]]:
        """Return the ports that the group carries, by name."""
        names = sorted({row.static_source for row in self.known.rows_of(self.group)})
        return [(name, self.scale.ports[name]) for name in names]

    def indicated(self, speeds: tuple[BestSpeed, ...]) -> tuple[IndicatedSpeed, ...]:
        indicated_speeds = []
        for best in speeds:
            if best.cas_kt is None or best.low_kt is None or best.high_kt is None:
                continue
            cas = np.array([best.cas_kt, best.low_kt, best.high_kt])
            for name, port in self.ports():
                if port is None:
                    continue
                ias, low, high = _shown(port, cas)
                indicated_speeds.append(
                    IndicatedSpeed(
                        speed=best.speed, static_source=name, ias_kt=ias, low_kt=low, high_kt=high
                    )
                )
        return tuple(indicated_speeds)

    def best(self, name: str, power: float) -> BestSpeed:
        slow, fast = self.span()
        ends = self.scale.x_at(np.array([fast, slow]))
        try:
            found = best_lift(self.fit, self.group, power, (float(ends[0]), float(ends[1])))
        except FitError as error:
            return BestSpeed(speed=name, note=error.message)
        return self._best_speed(name, found)

    def _best_speed(self, name: str, found: BestLift) -> BestSpeed:
        ends = np.array([found.lift, found.high, found.low])
        cas, low, high = map(float, self.scale.speed_at(ends))
        band = self.fit.mean_band(self.group, np.array([found.lift]))
        y = np.concatenate([band.centre, band.low, band.high])
        rate = [float(rate) for rate in self.scale.rate_ftmin(np.full(3, cas), y)]
        ratio = [float(found.lift / -v) if np.all(y < 0.0) else None for v in y]
        open_ends = [w for w, o in (("below", found.high_open), ("above", found.low_open)) if o]
        note = f"no limit {' or '.join(open_ends)} within what was flown" if open_ends else ""
        ports = self.ports()
        ias = _shown(ports[0][1], np.array([cas]))[0] if len(ports) == 1 else None
        return BestSpeed(
            speed=name,
            cas_kt=cas,
            low_kt=low,
            high_kt=high,
            ias_kt=ias,
            rate_ftmin=rate[0],
            rate_low_ftmin=rate[1],
            rate_high_ftmin=rate[2],
            ratio=ratio[0],
            ratio_low=ratio[1],
            ratio_high=ratio[2],
            note=note,
        )


def _shown(port: FittedPort | None, cas_kt: Array) -> list[float | None]:
    """Return what a port shows at a CAS; None without its curve or where it was not flown."""
    if port is None:
        return [None] * len(cas_kt)
    return [float(v) if np.isfinite(v) else None for v in port.solve(cas_kt).ias_kt]
