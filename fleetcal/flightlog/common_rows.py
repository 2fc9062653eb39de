"""Channels that are logged at different rates brought to the rows of the slowest that counts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.flightlog.cells import Floats

Mask = npt.NDArray[np.bool_]

_SPEEDS: Final = ("indicated_airspeed", "impact_pressure", "true_airspeed")
_ALTITUDES: Final = ("pressure_altitude", "static_pressure")
_GROUND: Final = ("ground_speed", "track")
_ANGLES: Final = frozenset({"track", "heading", "longitude"})
# a value is carried between two samples no further apart than this many usual intervals
_REACH: Final = 2.5
_REACH_S: Final = 15.0
_SLOW_REACH_S: Final = 90.0  # air temperature and settings change slowly
_SLOW: Final = frozenset(
    {"temperature", "total_temperature", "altimeter_setting", "relative_humidity", "dew_point"}
)


def at_common_rows(
    t_s: Floats, channels: Mapping[str, Floats]
) -> tuple[Mask, dict[str, Floats], tuple[str, ...]]:
    """Bring channels to common rows where no or few rows hold them all.

    Rows stay as they are where most rows of the slowest channel are complete.
    Else the rows of the slowest of airspeed and ground vector are kept, and the
    other channels are interpolated to them between neighbouring samples. Nothing
    is made up for the slowest channel itself.

    Args:
        t_s (n,): Strictly increasing.
        channels: Shape (n,).

    Returns:
        Rows to keep, the channels at those rows, and what was done.
    """
    everything = np.ones(t_s.size, dtype=bool)
    needed = _needed(channels)
    base = min(
        (name for name in needed if name in (*_SPEEDS, *_GROUND)),
        key=lambda name: int(np.isfinite(channels[name]).sum()),
        default=None,
    )
    if base is None:
        return everything, dict(channels), ()
    rows = np.isfinite(channels[base])
    complete = everything.copy()
    for name in needed:
        complete &= np.isfinite(channels[name])
    if rows.sum() < 2 or complete.sum() >= 0.9 * rows.sum():
        return everything, dict(channels), ()
    brought: dict[str, Floats] = {}
    moved = []
    for name, values in channels.items():
        brought[name] = values[rows]
        known = np.isfinite(values)
        if known.sum() >= 2 and np.isfinite(brought[name]).sum() < 0.95 * rows.sum():
            brought[name] = _at(t_s[rows], t_s[known], values[known], name)
            moved.append(name.replace("_", " "))
    every = float(np.median(np.diff(t_s[rows])))
    warning = (
        f"columns are filled at different rates: {', '.join(moved)} brought to the rows of "
        f"{base.replace('_', ' ')}, every {every:g} s"
    )
    return rows, brought, (warning,) if moved else ()


def _needed(channels: Mapping[str, Floats]) -> list[str]:
    """Channels without which a row cannot be used: of several airspeeds the fullest."""
    found = []
    for group in (_SPEEDS, _ALTITUDES):
        present = [name for name in group if name in channels]
        if present:
            found.append(max(present, key=lambda name: int(np.isfinite(channels[name]).sum())))
    found += [name for name in (*_GROUND, "temperature") if name in channels]
    return [name for name in found if np.isfinite(channels[name]).any()]


def _at(at_s: Floats, t_s: Floats, values: Floats, name: str) -> Floats:
    """Interpolate between neighbouring samples that are no further apart than usual."""
    values = np.unwrap(values) if name in _ANGLES else values
    after = np.clip(np.searchsorted(t_s, at_s), 1, t_s.size - 1)
    apart = t_s[after] - t_s[after - 1]
    most = _SLOW_REACH_S if name in _SLOW else _REACH_S
    reach = min(_REACH * float(np.median(np.diff(t_s))), most)
    inside = (at_s >= t_s[0]) & (at_s <= t_s[-1]) & (apart <= reach)
    return np.where(inside, np.interp(at_s, t_s, values), np.nan)
