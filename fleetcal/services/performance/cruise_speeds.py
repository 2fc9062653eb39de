"""True airspeed at a power, an altitude and a weight, from a curve of level flight.

The power needed and the power given meet where PIW (Vs/VIW)^3 equals the curve;
of two such speeds the faster is meant. An edge of the band is where the power
meets the edge of the curve's band, which is Fieller's argument (Journal of the
Royal Statistical Society B 16, 1954): the speeds at which the power given is not
surely too small or too large.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.performance.fitted_polynomial import FittedPolynomial
from fleetcal.airdata.performance.generalised_power import (
    LevelFlight,
    abscissa_of,
    density_ratio,
    viw_of,
)
from fleetcal.errors import FitError
from fleetcal.fleet.bands import Band
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import PooledFit
from fleetcal.units import M_PER_FT

_STEP_KT: Final = 0.25
#: How far beyond the speeds flown the edge of a band may lie, kt of VIW.
_BEYOND_KT: Final = 15.0
_LEVEL: Final = 0.95


@dataclass(frozen=True)
class CruiseAsk:
    """A power in % of rated power at a pressure altitude in standard air, and a weight."""

    power_pct: float
    altitude_ft: float
    weight_ratio: float


@dataclass(frozen=True, kw_only=True)
class CruiseSpeed:
    """A true airspeed with bands; NaN and the reason in `why` where it is not known.

    `next_...` is NaN for the curve of a single airframe.
    """

    tas_kt: float
    mean_low_kt: float
    mean_high_kt: float
    next_low_kt: float
    next_high_kt: float
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class CruiseCurve:
    """A curve of level flight and its bands over a grid of VIW.

    Attributes:
        viw_kt (n,): Rising.
        mean, following: Of y; the second for another aircraft, NaN where there is none.
        slowest_kt, fastest_kt: VIW that was flown.
    """

    scaling_speed_kt: float
    viw_kt: Array
    mean: Band
    following: Band
    slowest_kt: float
    fastest_kt: float

    def speed(self, ask: CruiseAsk) -> CruiseSpeed:
        """Return the true airspeed of level flight at a power."""
        given = self._given(ask)
        centre = self._crossing(given - self.mean.centre)
        if np.isnan(centre):
            faster = bool(given[-1] > self.mean.centre[-1])
            return _unknown(f"it is {'faster' if faster else 'slower'} than {self._flown}")
        if not self.slowest_kt <= centre <= self.fastest_kt:
            faster = centre > self.fastest_kt
            return _unknown(f"it is {'faster' if faster else 'slower'} than {self._flown}")
        edges = (self.mean.high, self.mean.low, self.following.high, self.following.low)
        per = self._tas_per_viw(ask)
        low, high, next_low, next_high = (per * self._crossing(given - edge) for edge in edges)
        why = "" if low < high else "its band reaches too far beyond the speeds flown"
        return CruiseSpeed(
            tas_kt=centre * per,
            mean_low_kt=low,
            mean_high_kt=high,
            next_low_kt=next_low,
            next_high_kt=next_high,
            why=why,
        )

    def shifted_tas_kt(self, ask: CruiseAsk, above: float) -> float:
        """Return the true airspeed on the curve with y larger everywhere; NaN off the grid."""
        return self.shifted_viw_kt(ask, above) * self._tas_per_viw(ask)

    def shifted_viw_kt(self, ask: CruiseAsk, above: float) -> float:
        """As `shifted_tas_kt`, of VIW."""
        return self._crossing(self._given(ask) - self.mean.centre - above)

    def centre(self, x: Array) -> Array:
        """Return y of the curve at abscissae within the grid, same shape."""
        grid = abscissa_of(self.viw_kt, self.scaling_speed_kt)
        return np.interp(x, grid[::-1], self.mean.centre[::-1])

    def abscissa_at(self, ask: CruiseAsk) -> float:
        """Return x at which a power meets the curve; NaN off the grid."""
        return float(abscissa_of(self.shifted_viw_kt(ask, 0.0), self.scaling_speed_kt))

    @property
    def _flown(self) -> str:
        return f"VIW {self.slowest_kt:.0f} to {self.fastest_kt:.0f} kt, which were flown"

    def _tas_per_viw(self, ask: CruiseAsk) -> float:
        sigma = float(density_ratio(ask.altitude_ft * M_PER_FT))
        return float(np.sqrt(ask.weight_ratio / sigma))

    def _given(self, ask: CruiseAsk) -> Array:
        sigma = density_ratio(ask.altitude_ft * M_PER_FT)
        tas = self.viw_kt * self._tas_per_viw(ask)
        power, weight = np.array(ask.power_pct / 100.0), np.array(ask.weight_ratio)
        return LevelFlight(power, tas, sigma, weight).coefficient(self.scaling_speed_kt)

    def _crossing(self, spare: Array) -> float:
        """Return the fastest VIW at which spare power falls through zero; NaN without any."""
        falls = np.flatnonzero((spare[:-1] > 0.0) & (spare[1:] <= 0.0))
        if not len(falls):
            return float("nan")
        i = int(falls[-1])
        share = float(spare[i] / (spare[i] - spare[i + 1]))
        return float(self.viw_kt[i] + share * (self.viw_kt[i + 1] - self.viw_kt[i]))


def _unknown(why: str) -> CruiseSpeed:
    nothing = float("nan")
    return CruiseSpeed(
        tas_kt=nothing,
        mean_low_kt=nothing,
        mean_high_kt=nothing,
        next_low_kt=nothing,
        next_high_kt=nothing,
        why=why,
    )


def _grid(slowest_kt: float, fastest_kt: float) -> Array:
    low = max(slowest_kt - _BEYOND_KT, 0.5 * slowest_kt)
    return np.arange(low, fastest_kt + _BEYOND_KT + _STEP_KT, _STEP_KT)


def pooled_cruise(
    fit: PooledFit, group: int, scaling_speed_kt: float, span_kt: tuple[float, float]
) -> CruiseCurve:
    """Return the curve of a group.

    Args:
        fit: Of `cruise_points`.
        span_kt: Slowest and fastest VIW that enough aircraft flew.
    """
    slowest, fastest = span_kt
    viw = _grid(slowest, fastest)
    x = abscissa_of(viw, scaling_speed_kt)
    mean, following = fit.mean_band(group, x, _LEVEL), fit.next_band(group, x, _LEVEL)
    return CruiseCurve(
        scaling_speed_kt=scaling_speed_kt,
        viw_kt=viw,
        mean=mean,
        following=following,
        slowest_kt=slowest,
        fastest_kt=fastest,
    )


def own_cruise(points: FleetPoints, together: Array, scaling_speed_kt: float) -> CruiseCurve:
    """Return the curve of a single airframe, by generalised least squares over its runs.

    Args:
        points: Of one aircraft.
        together (points,): Standard uncertainty that all points share, signed: `power_doubt`.

    Returns:
        Without a band for another aircraft.

    Raises:
        FitError: If the runs are too few or too alike for a line.
    """
    line = _own_line(points, together)
    speeds = viw_of(points.x, scaling_speed_kt)
    viw = _grid(float(speeds.min()), float(speeds.max()))
    x = abscissa_of(viw, scaling_speed_kt)
    centre, width = line.value(x), line.quantile(_LEVEL) * line.u_value(x)
    nothing = np.full(x.shape, np.nan)
    return CruiseCurve(
        scaling_speed_kt=scaling_speed_kt,
        viw_kt=viw,
        mean=Band(centre, centre - width, centre + width),
        following=Band(nothing, nothing, nothing),
        slowest_kt=float(speeds.min()),
        fastest_kt=float(speeds.max()),
    )


def _own_line(points: FleetPoints, together: Array) -> FittedPolynomial:
    """Fit y = a + b x; scatter beyond the stated uncertainty widens what it is sure to (Birge)."""
    spare = len(points.x) - 2
    if spare < 1 or np.ptp(points.x) < 0.1 * float(points.x.mean()):
        raise FitError(
            f"{len(points.x)} runs at these speeds determine no curve of one airframe",
            "fly three runs or more at well spread powers",
        )
    design = np.column_stack([np.ones_like(points.x), points.x])
    lasting = np.column_stack([points.u_airframe, together])
    known = points.error_covariance(np.arange(len(points.x))) + lasting @ lasting.T
    precision = np.linalg.inv(known)
    covariance = np.linalg.inv(design.T @ precision @ design)
    beta = covariance @ design.T @ precision @ points.y
    left = points.y - design @ beta
    ratio = float(left @ precision @ left) / spare
    return FittedPolynomial(
        coefficients=beta,
        covariance=covariance * max(ratio, 1.0),
        degrees=float(spare) if ratio > 1.0 else np.inf,
        lowest=float(points.x.min()),
        highest=float(points.x.max()),
    )
