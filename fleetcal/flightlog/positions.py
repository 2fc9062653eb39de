"""Ground speed and track from satellite positions."""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.flightlog.cells import Floats

# WGS-84 ellipsoid: semi-major axis, first eccentricity squared (NIMA TR8350.2, 2000)
_AXIS_M: Final = 6378137.0
_ECCENTRICITY_2: Final = 6.69437999014e-3
_SPAN_S: Final = 4.0
_WIDEST_S: Final = 15.0
#: Coarser positions than this (two metres on the ground, in rad) give no useful speed.
COARSEST_RAD: Final = 3.2e-7


def ground_vector(
    t_s: Floats, latitude_rad: Floats, longitude_rad: Floats, altitude_m: float = 0.0
) -> tuple[Floats, Floats]:
    """Return ground speed and track between positions some seconds apart.

    The difference is centred on each sample and spans at least four seconds, so
    that the rounding of a position costs little; it smooths over that time.

    Args:
        t_s (n,): Strictly increasing, s.
        latitude_rad, longitude_rad (n,): Of WGS-84, NaN where missing.
        altitude_m: Height above the ellipsoid: at 3000 m the ground path is 0.05 % shorter than the
            flown one.

    Returns:
        Shape (n,): Speed in m/s at that height and track in rad from true north; NaN at the ends
        and over gaps.

    Source: radii of curvature of the ellipsoid, NIMA TR8350.2 (2000).
    """
    speed = np.full(t_s.size, np.nan)
    track = np.full(t_s.size, np.nan)
    known = np.flatnonzero(np.isfinite(latitude_rad) & np.isfinite(longitude_rad))
    if known.size < 3:
        return speed, track
    t, lat, lon = t_s[known], latitude_rad[known], np.unwrap(longitude_rad[known])
    half = 0.5 * max(_SPAN_S, 2.0 * float(np.median(np.diff(t)))) - 1e-6
    before = np.searchsorted(t, t - half, side="right") - 1
    after = np.searchsorted(t, t + half)
    good = (before >= 0) & (after < t.size)
    before, after = np.maximum(before, 0), np.minimum(after, t.size - 1)
    apart = t[after] - t[before]
    good &= (apart > 0.0) & (apart <= max(_WIDEST_S, 6.0 * half))
    curve = 1.0 - _ECCENTRICITY_2 * np.sin(lat) ** 2
    meridian = _AXIS_M * (1.0 - _ECCENTRICITY_2) / curve**1.5 + altitude_m
    normal = _AXIS_M / np.sqrt(curve) + altitude_m
    with np.errstate(divide="ignore", invalid="ignore"):
        north = (lat[after] - lat[before]) * meridian / apart
        east = (lon[after] - lon[before]) * normal * np.cos(lat) / apart
    speed[known] = np.where(good, np.hypot(east, north), np.nan)
    track[known] = np.where(good, np.mod(np.arctan2(east, north), 2.0 * np.pi), np.nan)
    return speed, track
