"""What is known beforehand of how much aircraft of a group differ.

A handful of aircraft says little of the spread between them, so a judge who knows how alike
sound aircraft are finds an odd one far more often. What is known is put as so many aircraft of
a known spread: a scaled inverse chi-square of the variance, under which an aircraft departs as
Student's t says (A. Gelman, J. Carlin, H. Stern, D. Rubin, Bayesian Data Analysis (2004), 2.7,
from memory). Where the spread is in truth larger than supposed, sound aircraft are called odd
more often; the bands of curves therefore suppose nothing of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import special

from fleetcal.fleet.points import Array


@dataclass(frozen=True, kw_only=True)
class SpreadPrior:
    """Standard deviations between aircraft that are supposed, and what that is worth.

    Attributes:
        level, tilt: In y, and in y per unit of x.
        level_worth, tilt_worth: Aircraft that would tell the spread as well.
    """

    level: float
    tilt: float
    level_worth: float
    tilt_worth: float

    def log_chance(self, coefficient: int, edges: Array) -> Array:
        """Return the log of the chance of each cell of a standard deviation.

        Args:
            coefficient: 0 for the level, 1 for the tilt.
            edges (cells,): Upper edge of each cell, rising; the first begins at 0.
        """
        usual, worth = self._of(coefficient)
        below = special.gammaincc(worth / 2.0, worth * usual**2 / (2.0 * edges**2))
        with np.errstate(divide="ignore"):
            return np.asarray(np.log(np.diff(np.r_[0.0, below])))

    def between(self, coefficient: int, found: float, free: int) -> float:
        """Return a standard deviation between what is supposed and what was found.

        Args:
            free: Degrees of freedom of what was found.
        """
        usual, worth = self._of(coefficient)
        return float(np.sqrt((free * found**2 + worth * usual**2) / (free + worth)))

    def _of(self, coefficient: int) -> tuple[float, float]:
        if coefficient == 0:
            return self.level, self.level_worth
        return self.tilt, self.tilt_worth
