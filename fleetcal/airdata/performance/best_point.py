"""Where a fitted curve is best, and the interval for it.

With f a polynomial, f(x)/x^m is stationary where x f' - m f = 0, that is where
sum (k - m) b_k x^k = 0: linear in the coefficients. In airspeed, m = 0 is the
best rate (or the least sink) and m = 1 the best angle (or the best glide). All
x at which that sum is not significantly different from zero are the interval:
E. C. Fieller, Journal of the Royal Statistical Society B 16 (1954). It needs
no derivative of the root, is not symmetric, and says so when the data set no
limit on one side.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.polynomial import polynomial

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.performance.fitted_polynomial import FittedPolynomial
from fleetcal.errors import FitError


@dataclass(frozen=True)
class BestPoint:
    """The place of an extremum of f(x)/x^m.

    Attributes:
        x, value: Where, and f there.
        u_x, u_value: Standard uncertainties: of x by the first derivative (the delta method, for
            budgets; intervals are `low`, `high`), of f at that x.
        low, high: Interval; the end of what was flown where open.
        low_open, high_open: Whether the points set no limit on that side.
    """

    x: float
    value: float
    u_x: float
    u_value: float
    low: float
    high: float
    low_open: bool
    high_open: bool


def best_point(
    fitted: FittedPolynomial, power: float, level: float = 0.95, least: bool = False
) -> BestPoint:
    """Return where f(x)/x^m is largest within what was flown.

    Args:
        power: m.
        level: Coverage of the interval.
        least: Whether it is smallest instead.

    Raises:
        FitError: If the curve is best at an end of what was flown, or has no extremum.
    """
    sign = -1.0 if least else 1.0
    order = np.arange(len(fitted.coefficients))
    slope = sign * (order - power) * fitted.coefficients
    covariance = fitted.covariance * np.outer(order - power, order - power)
    x = _extremum(fitted, slope, power, sign)
    steepness = float(polynomial.polyval(x, polynomial.polyder(slope)))
    powers = x**order
    low, high = _limits(slope, covariance, fitted.quantile(level), x)
    return BestPoint(
        x,
        float(fitted.value(x)),
        float(np.sqrt(powers @ covariance @ powers)) / abs(steepness),
        float(fitted.u_value(x)),
        max(low, fitted.lowest),
        min(high, fitted.highest),
        low < fitted.lowest,
        high > fitted.highest,
    )


def _extremum(fitted: FittedPolynomial, slope: Array, power: float, sign: float) -> float:
    """Return the best of the roots where the slope falls through zero."""
    bending = polynomial.polyder(slope)
    inside = [
        root
        for root in _real_roots(slope)
        if fitted.lowest <= root <= fitted.highest and polynomial.polyval(root, bending) < 0.0
    ]
    if not inside:
        towards = polynomial.polyval(0.5 * (fitted.lowest + fitted.highest), slope)
        where = "above" if towards > 0.0 else "below"
        raise FitError(
            f"the curve is best {where} what was flown, or nowhere in it",
            "fly points on both sides of the best speed",
        )
    return float(max(inside, key=lambda root: sign * float(fitted.value(root)) / root**power))


def _limits(slope: Array, covariance: Array, quantile: float, x: float) -> tuple[float, float]:
    """Return the ends of the stretch about x in which the slope may be zero."""
    count = len(slope)
    variance = np.zeros(2 * count - 1)
    for i in range(count):
        variance[i : i + count] += covariance[i]
    ends = _real_roots(np.convolve(slope, slope) - quantile**2 * variance)
    below, above = ends[ends < x], ends[ends > x]
    return (
        float(below.max()) if len(below) else -np.inf,
        float(above.min()) if len(above) else np.inf,
    )


def _real_roots(coefficients: Array) -> Array:
    """Return the real roots, in no order."""
    roots = polynomial.polyroots(np.trim_zeros(coefficients, "b"))
    real: Array = roots[np.abs(roots.imag) <= 1e-9 * np.abs(roots)].real
    return real
