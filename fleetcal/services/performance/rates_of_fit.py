"""Rates of a fitted group of climbs or glides at round speeds, and its best speeds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.performance.path_coefficient import BEST_ANGLE, BEST_RATE
from fleetcal.errors import FitError
from fleetcal.fleet.best_lift import BestLift, best_lift
from fleetcal.fleet.fewest import FEWEST_AIRCRAFT
from fleetcal.fleet.pooled import PooledFit
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.services.handbook.fitted_port import FittedPort, span_flown
from fleetcal.services.performance.best_speed import BestSpeed
from fleetcal.services.performance.climb import RateScale

_SPEEDS: Final = {
    "climb": (("best rate of climb", BEST_RATE), ("best angle of climb", BEST_ANGLE)),
    "glide": (("best glide", BEST_ANGLE), ("least sink", BEST_RATE)),
}


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


@dataclass(frozen=True)
class RatesOfFit:
    """A fitted group of climbs or glides.

    Attributes:
        group: Number in the fit.
        fewest: Airframes that must have flown a speed for it to be told.
    """

    known: TypePoints
    group: int
    fit: PooledFit
    fewest: int = FEWEST_AIRCRAFT

    @property
    def scale(self) -> RateScale:
        """How rates go with CAS."""
        assert isinstance(self.known.scale, RateScale)  # climbs and glides have it
        return self.known.scale

    def span(self) -> tuple[float, float]:
        """Return the slowest and fastest CAS that enough airframes flew, kt."""
        rows = self.known.rows_of(self.group)
        flown = ((row.airframe, row.speed_at(self.known.weight_kg)) for row in rows)
        return span_flown(flown, "fly the same speeds", self.fewest)

    def rows(self, step_kt: float) -> tuple[RateRow, ...]:
        """Return the rates at round CAS."""
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
        """Return best speeds as each port of the group shows them."""
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

    def best_speeds(self) -> tuple[BestSpeed, ...]:
        """Return the best speeds of the quantity."""
        return tuple(self._best(*one) for one in _SPEEDS[self.known.quantity.key])

    def _best(self, name: str, power: float) -> BestSpeed:
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
