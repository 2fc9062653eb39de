"""How unlikely a departure is, looked at over all the speeds an aircraft flew.

What matters in the cockpit is how many knots an aircraft is off at some speed,
so the statistic is the departure over its standard deviation at the speed where
that is largest. Level and tilt, whitened, are a point of the plane; the speeds
flown are an arc of directions in it, and the largest ratio is the longest shadow
of the point on the arc. The chance of one as long follows exactly from the angle
of the arc: an arc of no width gives the two-sided normal test of one value, a
half circle the chi-square test of two. Sources: H. P. Wynn, P. Bloomfield,
Simultaneous confidence bands in regression analysis, Journal of the Royal
Statistical Society B 33 (1971); D. B. Owen, Tables for computing bivariate
normal probabilities, Annals of Mathematical Statistics 27 (1956), for T(h, a).
The closed form with T is ours, checked against sampling in the tests.
"""

from __future__ import annotations

import numpy as np
from scipy import special

from fleetcal.fleet.points import Array


def shadow_chance(ratio: Array, angle: Array) -> Array:
    """Return the chance that a standard normal point of the plane has so long a shadow on an arc.

    Args:
        ratio (ndarray, any shape): Length of the longest shadow, not below 0.
        angle (same shape): Of the arc, radians, 0 to pi.

    Returns:
        Same shape.
    """
    arc = angle / np.pi * np.exp(-(ratio**2) / 2.0)
    with np.errstate(divide="ignore"):
        edges = 4.0 * special.owens_t(ratio, 1.0 / np.tan(angle / 2.0))
    return np.minimum(np.asarray(arc + edges), 1.0)


def largest_ratio(departure: Array, covariance: Array, reach: Array) -> tuple[Array, Array]:
    """Return the largest departure over its standard deviation, and the angle of the arc.

    Args:
        departure (..., k): Level, or level and tilt.
        covariance (..., k, k): Of the departure of an aircraft that belongs.
        reach (2,): Lowest and highest t = s - 0.25 flown.

    Returns:
        Ratio, not below 0, and angle in radians; shapes (...).
    """
    if departure.shape[-1] == 1:
        ratio = np.abs(departure[..., 0]) / np.sqrt(covariance[..., 0, 0])
        return np.asarray(ratio), np.zeros_like(ratio)
    root = np.linalg.cholesky(covariance)
    level = departure[..., 0] / root[..., 0, 0]
    tilt = (departure[..., 1] - root[..., 1, 0] * level) / root[..., 1, 1]
    point = np.stack([level, tilt], axis=-1)
    first, last = (np.einsum("...ji,j->...i", root, [1.0, t]) for t in reach)
    swept = _turn(first, last)
    at_ends = [np.abs(np.sum(point * _unit(end), axis=-1)) for end in (first, last)]
    # a point and its mirror image, half a turn away, have the same shadow
    from_first = np.mod(_turn(first, point) * np.sign(swept), np.pi)
    length = np.sqrt(np.sum(point**2, axis=-1))
    ratio = np.where(from_first <= np.abs(swept), length, np.maximum(*at_ends))
    return ratio, np.abs(swept)


def _unit(vector: Array) -> Array:
    return np.asarray(vector / np.sqrt(np.sum(vector**2, axis=-1))[..., None])


def _turn(first: Array, second: Array) -> Array:
    """Return the signed angle from one direction to another, radians."""
    cross = first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]
    return np.asarray(np.arctan2(cross, np.sum(first * second, axis=-1)))
