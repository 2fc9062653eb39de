"""Geopotential height: what a geometric height is worth where gravity is not the standard one.

Altimeters and the hydrostatic equation reckon in geopotential metres, satellites in
metres. Gravity is 0.26 % less than standard at the equator and as much more at the poles,
and falls by 0.03 % in 1,000 m of height: left out, it would pass for 0.8 K of temperature.
Source: National Imagery and Mapping Agency TR8350.2, WGS 84, third edition (2000), section
4: normal gravity on the ellipsoid (equation 4-1) and above it (equation 4-3); constants of
table 3.4, from memory.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import GRAVITY_MPS2, Array

_EQUATOR_MPS2: Final = 9.7803253359
_GROWTH: Final = 0.00193185265241
_ECCENTRICITY_SQUARED: Final = 0.00669437999014
_RADIUS_M: Final = 6378137.0
_FLATTENING: Final = 1.0 / 298.257223563
_CENTRIFUGAL: Final = 0.00344978650684


def normal_gravity(latitude_rad: npt.ArrayLike) -> Array:
    """Return gravity on the ellipsoid.

    Args:
        latitude_rad (array_like, any shape): Geodetic latitude.

    Returns:
        Same shape: m/s2.
    """
    square = np.sin(np.asarray(latitude_rad, dtype=np.float64)) ** 2
    root = np.sqrt(1.0 - _ECCENTRICITY_SQUARED * square)
    return np.asarray(_EQUATOR_MPS2 * (1.0 + _GROWTH * square) / root)


def geopotential_height(geometric_m: npt.ArrayLike, latitude_rad: npt.ArrayLike) -> Array:
    """Return the geopotential height of a geometric one.

    Args:
        geometric_m, latitude_rad (array_like, broadcastable): Height above the ellipsoid or mean
            sea level, m, and geodetic latitude.

    Returns:
        Broadcast shape: Standard geopotential metres.
    """
    height = np.asarray(geometric_m, dtype=np.float64)
    square = np.sin(np.asarray(latitude_rad, dtype=np.float64)) ** 2
    fall = 1.0 + _FLATTENING + _CENTRIFUGAL - 2.0 * _FLATTENING * square
    share = height / _RADIUS_M
    mean = 1.0 - fall * share + share**2  # of gravity between the ellipsoid and this height
    return np.asarray(height * normal_gravity(latitude_rad) * mean / GRAVITY_MPS2)
