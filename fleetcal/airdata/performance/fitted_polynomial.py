"""A polynomial fitted to measured values, with what its coefficients are sure to."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import special

from fleetcal.airdata.atmosphere import Array


@dataclass(frozen=True, kw_only=True)
class FittedPolynomial:
    """A polynomial in an airspeed, or in what stands for it.

    Attributes:
        coefficients (p,): Of 1, x, x^2 and so on.
        covariance: Shape (p, p).
        degrees: Degrees of freedom of the scatter that the covariance rests on; infinite when the
            uncertainties were known.
        lowest, highest: Range of x that was flown.
    """

    coefficients: Array
    covariance: Array
    degrees: float
    lowest: float
    highest: float

    def value(self, x: npt.ArrayLike) -> Array:
        """Return the polynomial at x, same shape."""
        return np.asarray(np.polynomial.polynomial.polyval(np.asarray(x), self.coefficients))

    def u_value(self, x: npt.ArrayLike) -> Array:
        """Return the standard uncertainty of the polynomial at x, same shape."""
        powers = np.asarray(x, dtype=np.float64)[..., None] ** np.arange(len(self.coefficients))
        u: Array = np.sqrt(np.einsum("...i,ij,...j->...", powers, self.covariance, powers))
        return u

    def quantile(self, level: float) -> float:
        """Return how many standard uncertainties hold the truth with a chance of `level`."""
        return student_quantile(0.5 + level / 2.0, self.degrees)


def student_quantile(probability: float, degrees: float) -> float:
    """Return a quantile of Student's distribution, or the normal one.

    Args:
        degrees: Infinite for the normal distribution.
    """
    if np.isinf(degrees):
        return float(special.ndtri(probability))
    return float(special.stdtrit(degrees, probability))
