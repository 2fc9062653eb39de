"""Where a group's pooled curve is best: the s at which y/s^m is largest, and its interval.

The maximum is where s y' - m y falls through zero. That sum is linear in the
coefficients, so at every s its distribution is the same mixture of normal ones
as the band's; the interval is where neither sign of it is surer than the level
allows (Fieller's argument, Journal of the Royal Statistical Society B 16, 1954,
averaged over the spread).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from fleetcal.errors import FitError
from fleetcal.fleet.basis import MIDDLE_X, curve_basis
from fleetcal.fleet.points import Array, Index
from fleetcal.fleet.pooled import PooledFit

_STEPS: Final = 2000
_STRIDE: Final = 40


@dataclass(frozen=True, kw_only=True)
class BestLift:
    """The best s of a group's mean curve, or of its next aircraft's.

    Attributes:
        low, high: Interval; the end of what was flown where open.
        low_open, high_open: Whether the points set no limit on that side.
    """

    lift: float
    low: float
    high: float
    low_open: bool
    high_open: bool


def best_lift(
    fit: PooledFit, group: int, power: float, reach: tuple[float, float], level: float = 0.95
) -> BestLift:
    """Return where the group's mean curve has its largest y/s^m.

    Args:
        power: m.
        reach: Lowest and highest s that was flown by enough aircraft.
        level: Coverage of the interval.

    Raises:
        FitError: If the curve is best at an end of what was flown, or has no maximum.
    """
    lift = np.linspace(*reach, _STEPS + 1)
    rows = _stationary_rows(lift, fit.order, power)
    slope = rows @ fit.beta[group]
    falls = np.flatnonzero((slope[:-1] > 0.0) & (slope[1:] <= 0.0))
    if not len(falls):
        raise FitError(
            "the curve is best at the end of what was flown, or has no best speed",
            "fly points on both sides of the best speed",
        )
    value = curve_basis(lift, fit.order) @ fit.beta[group] / lift**power
    at = int(falls[np.argmax(value[falls])])
    best = float(_zero(lift, slope, at))
    # Chance that the slope is above zero: near 1 below the best s, near 0 above it.
    tail = (1.0 - level) / 2.0
    # What the mean has beyond the curve counts as a level, changing little near the best s.
    apart = power**2 * fit.departure_square(group, lift)

    def above(some: Index) -> Array:
        return _chance_above(fit, group, rows[some], apart[some])

    down, up = np.arange(at, -1, -1), np.arange(at + 1, len(lift))
    low = _limit(lift[down], lambda some: above(down[some]) - 1.0 + tail)
    high = _limit(lift[up], lambda some: tail - above(up[some]))
    return BestLift(
        lift=best,
        low=min(reach[0] if low is None else low, best),
        high=max(reach[1] if high is None else high, best),
        low_open=low is None,
        high_open=high is None,
    )


def _limit(lift: Array, above: Callable[[Index], Array]) -> float | None:
    """Return where a rising value first passes zero: in great strides, then in small ones."""
    some = np.unique(np.r_[np.arange(0, len(lift), _STRIDE), len(lift) - 1])
    passed = np.flatnonzero(above(some) > 0.0)
    if not len(passed):
        return None
    stop = int(some[passed[0]])
    near = np.arange(max(stop - _STRIDE, 0), stop + 1)
    values = above(near)
    place = int(np.flatnonzero(values > 0.0)[0])
    return float(lift[near[0]]) if place == 0 else _zero(lift[near], values, place - 1)


def _stationary_rows(lift: Array, order: int, power: float) -> Array:
    """Return g(s) with s y' - m y = g beta, shape (n, order + 1)."""
    k = np.arange(order + 1)
    t = (lift - MIDDLE_X)[:, None]
    derivative = np.where(k > 0, k * t ** np.maximum(k - 1, 0), 0.0)
    return np.asarray(lift[:, None] * derivative - power * curve_basis(lift, order))


def _chance_above(fit: PooledFit, group: int, rows: Array, apart: Array) -> Array:
    averaged = fit.averaged
    mean = averaged.beta[:, group] @ rows.T
    covariance = fit.mean_covariance(group)
    squares = (rows[:, :, None] * rows[:, None, :]).reshape(len(rows), -1)
    variance = covariance.reshape(len(covariance), -1) @ squares.T + apart
    return np.asarray(averaged.weight @ special.ndtr(mean / np.sqrt(variance)))


def _zero(x: Array, values: Array, place: int) -> float:
    """Return where values cross zero between a place and the next."""
    here, there = values[place], values[place + 1]
    share = here / (here - there) if here != there else 0.5
    return float(x[place] + share * (x[place + 1] - x[place]))
