"""The difference between the curves of two groups, and what it could have been.

Given the spread, the curves of two groups are independent; their difference is
averaged over what the data say of the spread, as the bands of `pooled` are. One
test asks whether the curves differ at all (Wald's chi-square at every node,
averaged); the band of the difference says by how much where.

Contrasts use the highest order that the speeds flown carry. With the order chosen by
prediction, equal groups were called different in 7 to 10 % of simulated pairs: a bend that
is kept because it is large looks different.

What each mean has beyond its curve is in the band. The test supposes one mean, and so one
departure: of it counts only what the two curves took up differently, being flown at other speeds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from fleetcal.fleet.averaged import averaged_wald, curve_band
from fleetcal.fleet.bands import Band, moved_band
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.curve_departure import CurveDeparture
from fleetcal.fleet.points import Array
from fleetcal.fleet.pooled import PooledFit

#: Chance with which the smallest change that is told would have been seen.
POWER: Final = 0.8


@dataclass(frozen=True, kw_only=True)
class Contrast:
    """Second group less first group.

    Attributes:
        weight: Shape (nodes,).
        difference (nodes, p): Of the coefficients.
        covariance: Shape (nodes, p, p).
        best (p,): Difference of the curves of highest restricted likelihood.
        p_value: Chance of so large a difference between groups with one curve.
        departures: Of the means of both groups from their curves; empty for none.
    """

    order: int
    weight: Array
    difference: Array
    covariance: Array
    best: Array
    p_value: float
    departures: tuple[CurveDeparture, ...] = ()

    def band(self, x: Array, level: float = 0.95) -> Band:
        """Return the difference curve with its band.

        Args:
            x: Shape (n,).
        """
        basis = curve_basis(x, self.order)
        extra, shift = np.zeros(len(x)), np.zeros(len(x))
        for departure, sign in zip(self.departures, (-1.0, 1.0), strict=False):
            extra += departure.variance(x)
            shift += sign * departure.shift(x)
        low, high = curve_band(
            self.weight, self.difference, self.covariance, x=basis, level=level, extra=extra
        )
        return moved_band(Band(basis @ self.best, low, high), shift)

    def smallest_shown(self, x: Array, level: float = 0.95) -> Array:
        """Return the smallest difference at one speed that would have been seen.

        Args:
            x: Shape (n,).
            level: Of the band that must not hold zero.

        Returns:
            Shape (n,): In y, seen with a chance of 80 %.
        """
        band = self.band(x, level)
        half = (band.high - band.low) / 2.0
        certain = special.ndtri(0.5 + level / 2.0)
        return np.asarray(half * (1.0 + special.ndtri(POWER) / certain))


def contrast(fit: PooledFit, first: int, second: int) -> Contrast:
    """Compare two groups of a fit.

    Args:
        first, second: Group numbers.
    """
    averaged = fit.averaged
    difference = averaged.beta[:, second] - averaged.beta[:, first]
    common = fit.common_shift(second) - fit.common_shift(first)  # most of it falls out
    covariance = fit.apart_covariance(first) + fit.apart_covariance(second) + common.T @ common
    one, other = fit.departure(first), fit.departure(second)
    departures = () if one is None or other is None else (one, other)
    if_one_curve = covariance + _taken_differently(departures)
    return Contrast(
        order=fit.order,
        weight=averaged.weight,
        difference=difference,
        covariance=covariance,
        best=fit.beta[second] - fit.beta[first],
        p_value=averaged_wald(averaged.weight, difference, if_one_curve),
        departures=departures,
    )


def _taken_differently(departures: tuple[CurveDeparture, ...]) -> Array | float:
    """Return the covariance of what two curves took up differently of one departure."""
    if len(departures) < 2:
        return 0.0
    one, other = departures
    apart = other.taken - one.taken
    square = one.covariance + other.covariance
    square = square + np.outer(one.mean, one.mean) + np.outer(other.mean, other.mean)
    covariance: Array = apart @ square @ apart.T / 2.0
    return covariance
