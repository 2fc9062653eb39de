"""The circle through the tips of ground vectors, as somebody with one sample a leg would use it.

The tips of the ground vectors flown at one true airspeed lie on a circle about
the tip of the wind vector, with the true airspeed as radius (the idea behind
every method that needs no heading; see Gratton, Use of Global Positioning
System velocity outputs for determining airspeed measurement error,
Aeronautical Journal, 2007). Vectors are (east, north) components.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.atmosphere import Array


@dataclass(frozen=True)
class WindCircle:
    """Circle through ground vectors, for many runs at once.

    Attributes:
        east_mps, north_mps (runs,): Wind vector (towards which the air moves), m/s.
        radius_mps (runs,): True airspeed, m/s.
    """

    east_mps: Array
    north_mps: Array
    radius_mps: Array


def wind_circle(east_mps: Array, north_mps: Array, weight: Array) -> WindCircle:
    """Fit the circle |g - w|^2 = V^2 by linear least squares in (w, V^2 - |w|^2).

    Args:
        east_mps, north_mps (runs, legs): Ground vectors, m/s.
        weight (runs, legs): 1 for a leg that counts, 0 for padding.

    Returns:
        NaN in every field of a run whose vectors lie on a line.

    The algebraic fit is exact for three vectors and close for more. Vectors are
    centred first, which keeps the three equations well conditioned.
    """
    count = np.maximum(weight.sum(axis=-1), 1.0)
    east = np.where(weight > 0.0, east_mps, 0.0)  # whatever stands in the padding, NaN as well
    north = np.where(weight > 0.0, north_mps, 0.0)
    mean_east = (weight * east).sum(axis=-1) / count
    mean_north = (weight * north).sum(axis=-1) / count
    x = weight * (east - mean_east[..., None])
    y = weight * (north - mean_north[..., None])
    square = x * x + y * y
    sxx, sxy, syy = (x * x).sum(-1), (x * y).sum(-1), (y * y).sum(-1)
    right_x, right_y = (x * square).sum(-1) / 2.0, (y * square).sum(-1) / 2.0
    determinant = sxx * syy - sxy * sxy
    with np.errstate(divide="ignore", invalid="ignore"):
        flat = determinant <= 1e-9 * (sxx + syy) ** 2
        determinant = np.where(flat, np.nan, determinant)
        centre_x = (right_x * syy - right_y * sxy) / determinant
        centre_y = (right_y * sxx - right_x * sxy) / determinant
        radius = np.sqrt(square.sum(-1) / count + centre_x**2 + centre_y**2)
    return WindCircle(centre_x + mean_east, centre_y + mean_north, radius)
