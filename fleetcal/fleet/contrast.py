"""The difference between the curves of two groups, and what it could have been.

Given the spread, the curves of two groups are independent; their difference is
averaged over what the data say of the spread, as the bands of `pooled` are. One
test asks whether the curves differ at all (Wald's chi-square at every node,
averaged); the band of the difference says by how much where.

Contrasts use the highest order that the speeds flown carry. With the order chosen by
prediction, equal groups were called different in 7 to 10 % of simulated pairs: a bend that
is kept because it is large looks different.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import stats

from fleetcal.fleet.averaged import averaged_wald, curve_band
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.points import Array
from fleetcal.fleet.pooled import Band, PooledFit

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
    """

    order: int
    weight: Array
    difference: Array
    covariance: Array
    best: Array
    p_value: float

    def band(self, x: Array, level: float = 0.95) -> Band:
        """Return the difference curve with its band.

        Args:
            x: Shape (n,).
        """
        basis = curve_basis(x, self.order)
        low, high = curve_band(self.weight, self.difference, self.covariance, basis, level)
        return Band(basis @ self.best, low, high)

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
        certain = stats.norm.ppf(0.5 + level / 2.0)
        return np.asarray(half * (1.0 + stats.norm.ppf(POWER) / certain))


def contrast(fit: PooledFit, first: int, second: int) -> Contrast:
    """Compare two groups of a fit.

    Args:
        first, second: Group numbers.
    """
    averaged = fit.averaged
    difference = averaged.beta[:, second] - averaged.beta[:, first]
    common = fit.common_shift(second) - fit.common_shift(first)  # most of it falls out
    covariance = fit.apart_covariance(first) + fit.apart_covariance(second) + common.T @ common
    return Contrast(
        order=fit.order,
        weight=averaged.weight,
        difference=difference,
        covariance=covariance,
        best=fit.beta[second] - fit.beta[first],
        p_value=averaged_wald(averaged.weight, difference, covariance),
    )
