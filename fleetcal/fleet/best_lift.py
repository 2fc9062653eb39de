"""Where a group's pooled curve is best: the s at which y/s^m is largest, and its interval.

The maximum is where s y' - m y falls through zero. That sum is linear in the
coefficients, so at every s its distribution is the same mixture of normal ones
as the band's; the interval is where neither sign of it is surer than the level
allows (Fieller's argument, Journal of the Royal Statistical Society B 16, 1954,
averaged over the spread).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from fleetcal.errors import FitError
from fleetcal.fleet.basis import MIDDLE_LIFT, curve_basis
from fleetcal.fleet.points import Array
from fleetcal.fleet.pooled import PooledFit

_STEPS: Final = 2000


@dataclass(frozen=True)
class BestLift:
    """The best s of a group's mean curve, or of its next aircraft's.

    Attributes
    ----------
    lift : float
    low, high : float
        Interval; the end of what was flown where open.
    low_open, high_open : bool
        Whether the points set no limit on that side.
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

    Parameters
    ----------
    fit : PooledFit
    group : int
    power : float
        m.
    reach : tuple of float
        Lowest and highest s that was flown by enough aircraft.
    level : float
        Coverage of the interval.

    Returns
    -------
    BestLift

    Raises
    ------
    FitError
        If the curve is best at an end of what was flown, or has no maximum.
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
    chance = _chance_above(fit, group, rows)
    tail = (1.0 - level) / 2.0
    below = np.flatnonzero(chance[: at + 1] > 1.0 - tail)
    above = np.flatnonzero(chance[at + 1 :] < tail)
    low = _zero(lift, chance - (1.0 - tail), int(below[-1])) if len(below) else reach[0]
    high = _zero(lift, chance - tail, at + int(above[0])) if len(above) else reach[1]
    return BestLift(best, min(low, best), max(high, best), not len(below), not len(above))


def _stationary_rows(lift: Array, order: int, power: float) -> Array:
    """Return g(s) with s y' - m y = g beta, shape (n, order + 1)."""
    k = np.arange(order + 1)
    t = (lift - MIDDLE_LIFT)[:, None]
    derivative = np.where(k > 0, k * t ** np.maximum(k - 1, 0), 0.0)
    return np.asarray(lift[:, None] * derivative - power * curve_basis(lift, order))


def _chance_above(fit: PooledFit, group: int, rows: Array) -> Array:
    averaged = fit.averaged
    mean = averaged.beta[:, group] @ rows.T
    variance = np.einsum("xi,nij,xj->nx", rows, fit.mean_covariance(group), rows)
    return np.asarray(averaged.weight @ special.ndtr(mean / np.sqrt(variance)))


def _zero(x: Array, values: Array, place: int) -> float:
    """Return where values cross zero between a place and the next."""
    here, there = values[place], values[place + 1]
    share = here / (here - there) if here != there else 0.5
    return float(x[place] + share * (x[place + 1] - x[place]))
