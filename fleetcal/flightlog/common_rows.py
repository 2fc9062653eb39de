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
    known = {name: np.isfinite(values) for name, values in channels.items()}
    filled = {name: int(np.count_nonzero(rows)) for name, rows in known.items()}
    needed = _needed(filled)
    speeds = (name for name in needed if name in (*_SPEEDS, *_GROUND))
    base = min(speeds, key=filled.__getitem__, default=None)
    if base is None:
        return everything, dict(channels), ()
    rows = known[base]
    places = np.flatnonzero(rows)
    complete = everything.copy()
    for name in needed:
        complete &= known[name]
    if filled[base] < 2 or np.count_nonzero(complete) >= 0.9 * filled[base]:
        return everything, dict(channels), ()
    brought: dict[str, Floats] = {}
    moved = []
    for name, values in channels.items():
        there = np.count_nonzero(known[name] & rows)
        if filled[name] >= 2 and there < 0.95 * filled[base]:
            brought[name] = _at(t_s, known[name], values, name)[places]
            moved.append(name.replace("_", " "))
        else:
            brought[name] = values[places]
    every = float(np.median(np.diff(t_s[places])))
    warning = (
        f"columns are filled at different rates: {', '.join(moved)} brought to the rows of "
        f"{base.replace('_', ' ')}, every {every:g} s"
    )
    return rows, brought, (warning,) if moved else ()


def _needed(filled: Mapping[str, int]) -> list[str]:
    """Channels without which a row cannot be used: of several airspeeds the fullest."""
    found = []
    for group in (_SPEEDS, _ALTITUDES):
        present = [name for name in group if name in filled]
        if present:
            found.append(max(present, key=filled.__getitem__))
    found += [name for name in (*_GROUND, "temperature") if name in filled]
    return [name for name in found if filled[name]]


def _at(t_s: Floats, known: Mask, values: Floats, name: str) -> Floats:
    """Interpolate between neighbouring known samples that are no further apart than usual.

    A known sample stays as it is, unless it is behind a gap: only the others are looked for.
    """
    places = np.flatnonzero(known)
    known_s, found = t_s[places], values.copy()
    if name in _ANGLES:
        found[places] = unwrapped(values[places])
    steps = np.diff(known_s)
    most = _SLOW_REACH_S if name in _SLOW else _REACH_S
    far = steps > min(_REACH * float(np.median(steps)), most)
    lacking = np.flatnonzero(~known)
    before = lacking - np.arange(lacking.size) - 1  # which of the known ones stands before each
    last = before[np.diff(before, prepend=-2) > 0]  # before each stretch of lacking ones
    edges = np.clip(np.stack([last, last + 1], axis=1).ravel(), 0, steps.size)
    at_s, known_values = t_s[lacking], found[places[edges]]
    carried = np.interp(at_s, known_s[edges], known_values, left=np.nan, right=np.nan)
    carried[far[np.clip(before, 0, steps.size - 1)]] = np.nan
    found[lacking] = carried
    if far.any():
        found[places[1:][far]] = np.nan  # behind a gap, as the rows in it
        found[places[:1][far[:1]]] = np.nan
    return found


def unwrapped(angles: Floats) -> Floats:
    """Let angles run on through a whole turn, as `numpy.unwrap`, which works on every step.

    Args:
        angles (n,): rad, none missing.

    Returns:
        Shape (n,).
    """
    steps = np.diff(angles)
    far = np.flatnonzero(np.abs(steps) >= np.pi)
    wide = steps[far]
    short = np.mod(wide + np.pi, 2.0 * np.pi) - np.pi
    short[(short == -np.pi) & (wide > 0.0)] = np.pi
    turns = np.zeros(steps.size)
    turns[far] = short - wide
    run_on = angles.copy()
    run_on[1:] += np.cumsum(turns)
    return run_on
