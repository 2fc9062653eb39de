"""A polynomial fitted to measured values, with what its coefficients are sure to."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import special

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import FitError


@dataclass(frozen=True)
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


def fit_polynomial(
    x: npt.ArrayLike, y: npt.ArrayLike, order: int, u: npt.ArrayLike | None = None
) -> FittedPolynomial:
    """Fit a polynomial by (weighted) least squares.

    Args:
        x, y (n,): Not necessarily sorted; x above zero.
        order: 1 to 4.
        u (n,): Standard uncertainties of y. Without them, and where the points scatter more than
            they say, the scatter about the fit is the measure and limits are Student's (R. T.
            Birge, Physical Review 40, 1932, for the ratio).

    Raises:
        FitError: If there are too few points or speeds, or a value is not finite.
    """
    x, y = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    weight = np.ones_like(x) if u is None else 1.0 / np.asarray(u, dtype=np.float64)
    _require_points(x, y, weight, order)
    scale = float(np.mean(x))
    design = (x[:, None] / scale) ** np.arange(order + 1)
    q, r = np.linalg.qr(design * weight[:, None])
    if np.linalg.cond(r) > 1e10:
        raise FitError("the speeds flown are too alike for a curve", "spread the points in speed")
    beta = np.linalg.solve(r, q.T @ (y * weight))
    spare = len(x) - order - 1
    ratio = float(np.sum(((y - design @ beta) * weight) ** 2)) / spare
    trusted = u is not None and ratio <= 1.0
    inverse = np.linalg.inv(r)
    unscale = scale ** -np.arange(order + 1.0)
    covariance = inverse @ inverse.T * (1.0 if trusted else ratio)
    return FittedPolynomial(
        beta * unscale,
        covariance * np.outer(unscale, unscale),
        np.inf if trusted else float(spare),
        float(x.min()),
        float(x.max()),
    )


def _require_points(x: Array, y: Array, weight: Array, order: int) -> None:
    if not 1 <= order <= 4:
        raise FitError(f"a polynomial of order {order} is not offered", "ask for 1 to 4")
    if x.ndim != 1 or x.shape != y.shape or x.shape != weight.shape:
        raise FitError("speeds, values and uncertainties differ in length", "give one each a point")
    if not (np.all(np.isfinite(x) & np.isfinite(y) & np.isfinite(weight)) and np.all(weight > 0)):
        raise FitError(
            "a point is not finite or has no uncertainty", "reject or correct that point"
        )
    if np.any(x <= 0.0):
        raise FitError(f"an airspeed of {x.min():g} is not above zero", "correct that point")
    if len(np.unique(x)) < order + 1 or len(x) < order + 2:
        raise FitError(
            f"{len(x)} points do not determine a curve of order {order} and its scatter",
            f"fly at least {order + 2} points, {order + 1} of them at speeds of their own",
        )
