"""The longest parts of a stretch that keep to the tolerances."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from fleetcal.flightlog.cells import Floats
from fleetcal.flightlog.settings import LegSettings
from fleetcal.flightlog.sliding_fit import ChannelSums

# ends of legs are tried once a second; a straight is judged as one up to this many longest legs
_GRID_S: Final = 1.0
_LONGEST_STRAIGHT: Final = 4.0


def longest_steady(
    t: Floats, channels: Sequence[ChannelSums], start: int, stop: int, limits: LegSettings
) -> list[tuple[int, int]]:
    """Take the longest steady part, then the longest of what is left, and so on.

    Args:
        t: Shape (n,).
        channels: With their tolerances.
        start, stop: The stretch to search.

    Returns:
        Ranges of samples, each no longer than `limits.longest_s`.
    """
    found: list[tuple[int, int]] = []
    _search(
        t,
        channels,
        (start, stop),
        longest_s=_LONGEST_STRAIGHT * limits.longest_s,
        limits=limits,
        found=found,
    )
    return found


def _search(
    t: Floats,
    channels: Sequence[ChannelSums],
    stretch: tuple[int, int],
    longest_s: float,
    limits: LegSettings,
    found: list[tuple[int, int]],
) -> None:
    """Search with a work list, as a long flight would nest too deep."""
    waiting = [stretch]
    while waiting:
        start, stop = waiting.pop()
        if stop - start < limits.fewest_samples or t[stop - 1] - t[start] < limits.shortest_s:
            continue
        best = _longest(t, channels, start, stop=stop, longest_s=longest_s, limits=limits)
        if best is None:
            continue
        waiting.extend([(start, best[0]), (best[1], stop)])
        for piece in _pieces(t, best, limits.longest_s):
            if _all_within(channels, piece):
                found.append(piece)
            else:
                # steady as a whole but not in this part: look for a shorter leg in it
                _search(t, channels, piece, longest_s=limits.longest_s, limits=limits, found=found)


def _all_within(channels: Sequence[ChannelSums], piece: tuple[int, int]) -> bool:
    """Tell whether one range keeps to the tolerances of all channels."""
    first, last = np.array([piece[0]]), np.array([piece[1]])
    return all(bool(channel.within(first, last)[0]) for channel in channels)


def _pieces(t: Floats, part: tuple[int, int], longest_s: float) -> list[tuple[int, int]]:
    """Cut a part in equal pieces, back to back, none longer than allowed."""
    start, stop = part
    duration = float(t[stop - 1] - t[start])
    count = max(1, math.ceil(duration / longest_s - 1e-9))
    cuts = np.searchsorted(t, t[start] + duration * np.arange(1, count) / count)
    edges = [start, *cuts.tolist(), stop]
    return list(pairwise(edges))


def _longest(
    t: Floats,
    channels: Sequence[ChannelSums],
    start: int,
    stop: int,
    longest_s: float,
    limits: LegSettings,
) -> tuple[int, int] | None:
    """Find the longest range within tolerance; the earlier one of equals."""
    grid = _grid(t, start, stop)
    best: tuple[int, int] | None = None
    best_s = limits.shortest_s - 1e-9
    for index, first in enumerate(grid[:-1].tolist()):
        lasts = grid[index + 1 :]
        duration = t[lasts - 1] - t[first]
        lasts = lasts[(duration > best_s) & (duration <= longest_s)]
        lasts = lasts[lasts - first >= limits.fewest_samples]
        if not lasts.size:
            continue
        firsts = np.full(lasts.size, first)
        within = np.ones(lasts.size, dtype=bool)
        for channel in channels:
            within &= channel.within(firsts, lasts)
        if within.any():
            last = int(lasts[within][-1])
            best, best_s = (first, last), float(t[last - 1] - t[first])
    return best


def _grid(t: Floats, start: int, stop: int) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
    """List where a leg may begin or end: about one sample a second, and both ends."""
    second = np.floor((t[start:stop] - t[start]) / _GRID_S)
    new = np.flatnonzero(np.concatenate([[True], np.diff(second) > 0]))
    return np.append(start + new, stop)
