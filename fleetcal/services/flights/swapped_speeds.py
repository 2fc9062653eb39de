"""Whether the columns of airspeed and ground speed were swapped.

Wind makes the ground speed change with the direction flown and leaves the
airspeed alone. Where the airspeed changes with the direction and the ground
speed does not, each column holds the other.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.flightlog import Recording
from fleetcal.units import MPS_PER_KT

_LAG_S: Final = 60.0
_TURNED_RAD: Final = np.radians(30.0)
_FLYING_MPS: Final = 35.0 * MPS_PER_KT
_FEWEST: Final = 60
_LEAST_WIND_MPS: Final = 4.0 * MPS_PER_KT
_TIMES: Final = 3.0


def swapped_words(recording: Recording, heading: str, airspeed_mps: Array) -> str:
    """Say that airspeed and ground speed look swapped, if they do.

    Args:
        heading: Words for the airspeed with its heading.
        airspeed_mps (n,): As indicated airspeed.

    Returns:
        Empty if they do not, or too few turns or too little wind would show it.
    """
    ground = recording.channels["ground_speed"]
    track = recording.channels["track"]
    complete = np.isfinite(airspeed_mps) & np.isfinite(ground) & np.isfinite(track)
    complete &= np.nan_to_num(np.minimum(airspeed_mps, ground)) > _FLYING_MPS
    t_s = recording.t_s[complete]
    if t_s.size < _FEWEST:
        return ""
    first, later = _pairs(t_s, track[complete])
    if first.size < _FEWEST:
        return ""
    by_air, by_ground = (
        _change_with_track(speed[complete], track[complete], first, later)
        for speed in (airspeed_mps, ground)
    )
    if by_air < _LEAST_WIND_MPS or by_air < _TIMES * by_ground:
        return ""
    column = next((c.heading for c in recording.columns if c.quantity == "ground_speed"), "")
    return (
        f"{recording.source_name}: {heading} changes by {by_air / MPS_PER_KT:.0f} kt with the "
        f"direction flown, as a ground speed does in wind, and ground speed '{column}' by "
        f"{by_ground / MPS_PER_KT:.0f} kt: the two columns look swapped"
    )


def _pairs(t_s: Array, track_rad: Array) -> tuple[np.ndarray, np.ndarray]:
    """Return samples a minute apart between which the direction has changed."""
    later = np.searchsorted(t_s, t_s + _LAG_S)
    first = np.flatnonzero(later < t_s.size)
    later = later[first]
    near = t_s[later] - t_s[first] < 2.0 * _LAG_S
    first, later = first[near], later[near]
    turned = np.abs(np.angle(np.exp(1j * (track_rad[later] - track_rad[first]))))
    return first[turned > _TURNED_RAD], later[turned > _TURNED_RAD]


def _change_with_track(
    speed_mps: Array, track_rad: Array, first: np.ndarray, later: np.ndarray
) -> float:
    """Return the amplitude with which a speed goes with the sine and cosine of the track."""
    basis = np.stack([np.sin(track_rad), np.cos(track_rad)], axis=1)
    change = basis[later] - basis[first]
    went = speed_mps[later] - speed_mps[first]
    kept = np.ones(went.size, dtype=bool)
    wind = np.zeros(2)
    for _ in range(3):  # changes of speed between runs do not count
        wind, *_ = np.linalg.lstsq(change[kept], went[kept], rcond=None)
        off = np.abs(went - change @ wind)
        kept = off <= 2.5 * max(float(np.median(off)), 0.1)
    return float(np.hypot(*wind))
