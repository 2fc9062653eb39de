"""By how much the mean of a group may depart from its curve, as a function of speed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.points import Array

#: Steps of the walk over the speeds flown by the type: so many that bands show none of them.
STEPS: Final = 60
_SMALLEST_X: Final = 1e-6


@dataclass(frozen=True, kw_only=True)
class CurveDeparture:
    """A walk over the logarithm of speed, less what the curve takes up of it.

    Attributes:
        slow, fast: Logarithm of x at the ends of the walk.
        taken (p, steps): Coefficients by which the curve follows a rise of one at each step.
        mean (steps,): Of the rises, in y.
        covariance (steps, steps): Of the rises, in y^2.
    """

    slow: float
    fast: float
    taken: Array
    mean: Array
    covariance: Array

    def rows(self, x: Array) -> Array:
        """Return what a rise of one at each step leaves between mean and curve.

        Args:
            x: Shape (n,).

        Returns:
            Shape (n, steps).
        """
        basis = curve_basis(x, len(self.taken) - 1)
        return np.asarray(walk_rows(x, self.slow, self.fast) - basis @ self.taken)

    def shift(self, x: Array) -> Array:
        """Return the likely departure, in y.

        Args:
            x: Shape (n,).

        Returns:
            Shape (n,).
        """
        return np.asarray(self.rows(x) @ self.mean)

    def variance(self, x: Array) -> Array:
        """Return the variance of the departure about the likely one, in y^2.

        Args:
            x: Shape (n,).

        Returns:
            Shape (n,).
        """
        rows = self.rows(x)
        return np.asarray(np.einsum("xi,ij,xj->x", rows, self.covariance, rows))

    def mean_square(self, x: Array) -> Array:
        """Return the mean square of the departure, in y^2.

        Args:
            x: Shape (n,).

        Returns:
            Shape (n,).
        """
        return np.asarray(self.variance(x) + self.shift(x) ** 2)


def walk_rows(x: Array, slow: float, fast: float) -> Array:
    """Return how much of each step lies between the slow end and x.

    Args:
        x: Shape (n,).
        slow, fast: Logarithm of x at the ends, `slow` the larger.

    Returns:
        Shape (n, steps): 0 to 1.
    """
    place = (slow - log_x(x)) / (slow - fast) * STEPS
    return np.asarray(np.clip(place[:, None] - np.arange(STEPS), 0.0, 1.0))


def log_x(x: Array) -> Array:
    """Return the logarithm of x, which falls as that of speed rises."""
    return np.asarray(np.log(np.maximum(x, _SMALLEST_X)))
