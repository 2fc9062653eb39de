"""Geometry of ground vectors: the fan of tracks, and where a wind comes from."""

from __future__ import annotations

import numpy as np

from fleetcal.airdata.atmosphere import Array


def largest_track_gap(track_rad: Array) -> float:
    """Return the largest angle between neighbouring tracks.

    Args:
        track_rad (legs,): Tracks in any order, rad.

    Returns:
        Angle in rad: 2 pi for one track, 2 pi / n for n evenly spread ones.
    """
    ordered = np.sort(np.mod(track_rad, 2.0 * np.pi))
    gaps = np.diff(np.append(ordered, ordered[0] + 2.0 * np.pi))
    return float(gaps.max())


def bearing_from(east_mps: float, north_mps: float) -> float:
    """Return the direction a wind vector comes from.

    Args:
        east_mps, north_mps: Wind vector, m/s.

    Returns:
        Bearing in rad, at least 0 and below 2 pi.
    """
    bearing = float(np.mod(np.arctan2(-east_mps, -north_mps), 2.0 * np.pi))
    return bearing if bearing < 2.0 * np.pi else 0.0  # the remainder of -1e-17 rounds to 2 pi
