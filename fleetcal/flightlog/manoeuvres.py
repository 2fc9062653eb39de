"""Stretches of flight at one airspeed that go round the compass."""

from __future__ import annotations

from collections import deque
from itertools import pairwise

import numpy as np

from fleetcal.flightlog.cells import Floats
from fleetcal.flightlog.legs import LegSpan
from fleetcal.flightlog.runs import largest_track_gap
from fleetcal.flightlog.settings import ManoeuvreSettings
from fleetcal.flightlog.sliding_fit import sliding_mean


def find_manoeuvres(
    t_s: Floats,
    airspeed_mps: Floats,
    altitude_m: Floats,
    track_rad: Floats,
    settings: ManoeuvreSettings | None = None,
    roll_rad: Floats | None = None,
) -> list[LegSpan]:
    """Find steady turns and boxes flown at constant power.

    The longest stretches are taken first in which the smoothed airspeed and the
    altitude keep within their ranges; those whose tracks leave too large a gap
    are dropped.

    Args:
        t_s (n,): Strictly increasing, s.
        airspeed_mps, altitude_m, track_rad (n,): NaN where missing.
        roll_rad (n,): Bank, if recorded.

    Returns:
        In order of time, without overlap.
    """
    limits = settings if settings is not None else ManoeuvreSettings()
    columns = (airspeed_mps, altitude_m, track_rad)
    rows = np.flatnonzero(np.isfinite(np.stack([t_s, *columns])).all(axis=0))
    if rows.size < 10:
        return []
    t, airspeed, altitude, track = (column[rows] for column in (t_s, *columns))
    smooth = sliding_mean(t, airspeed, limits.smoothing_s)
    flying = smooth >= limits.slowest_mps
    if roll_rad is not None and np.isfinite(roll_rad[rows]).any():
        bank = sliding_mean(t, np.nan_to_num(roll_rad[rows]), limits.smoothing_s)
        flying &= np.abs(bank) <= limits.bank_rad
    holes = np.flatnonzero(np.diff(t) > max(limits.gap_s, 3.0 * float(np.median(np.diff(t))))) + 1
    edges = np.flatnonzero(np.diff(flying)) + 1
    cuts = sorted({0, *holes.tolist(), *edges.tolist(), t.size})
    found: list[tuple[int, int]] = []
    for first, last in pairwise(cuts):
        if flying[first]:
            part = slice(first, last)
            inner = _windows(t[part], smooth[part], altitude[part], limits)
            found += [(first + start, first + stop) for start, stop in inner]
    good = [
        (start, stop)
        for start, stop in _apart(found, t, limits)
        if largest_track_gap(track[start:stop].tolist()) <= limits.largest_track_gap_rad
    ]
    return [LegSpan(int(rows[start]), int(rows[stop - 1]) + 1) for start, stop in sorted(good)]


def _windows(
    t: Floats, airspeed: Floats, altitude: Floats, limits: ManoeuvreSettings
) -> list[tuple[int, int]]:
    """Return every longest window in which airspeed and altitude keep within their ranges."""
    speeds = _RunningRange(airspeed, limits.airspeed_range_mps)
    heights = _RunningRange(altitude, limits.altitude_range_m)
    times: list[float] = t.tolist()  # single values of an array are slow to take
    windows: list[tuple[int, int]] = []
    start = 0
    for stop, now in enumerate(times):
        before = start
        speeds.add(stop)
        heights.add(stop)
        while speeds.too_wide() or heights.too_wide() or now - times[start] > limits.longest_s:
            start += 1
            speeds.drop_before(start)
            heights.drop_before(start)
        if start > before:
            windows.append((before, stop))
    windows.append((start, t.size))
    return windows


class _RunningRange:
    """Largest and smallest value of a moving window, each sample added and dropped once."""

    def __init__(self, values: Floats, widest: float) -> None:
        self.values: list[float] = values.tolist()
        self.widest = widest
        self.rising: deque[int] = deque()
        self.falling: deque[int] = deque()

    def add(self, place: int) -> None:
        values, rising, falling = self.values, self.rising, self.falling
        value = values[place]
        while rising and values[rising[-1]] >= value:
            rising.pop()
        while falling and values[falling[-1]] <= value:
            falling.pop()
        rising.append(place)
        falling.append(place)

    def too_wide(self) -> bool:
        return self.values[self.falling[0]] - self.values[self.rising[0]] > self.widest

    def drop_before(self, place: int) -> None:
        while self.rising and self.rising[0] < place:
            self.rising.popleft()
        while self.falling and self.falling[0] < place:
            self.falling.popleft()


def _apart(
    windows: list[tuple[int, int]], t: Floats, limits: ManoeuvreSettings
) -> list[tuple[int, int]]:
    """Return windows that do not overlap, the longest first; what is left of the others counts."""
    kept: list[tuple[int, int]] = []
    waiting = list(windows)
    while waiting:
        waiting = [w for w in waiting if t[w[1] - 1] - t[w[0]] >= limits.shortest_s]
        if not waiting:
            break
        best = max(waiting, key=lambda w: (t[w[1] - 1] - t[w[0]], -w[0]))
        kept.append(best)
        left = []
        for start, stop in waiting:
            left += [
                (a, b)
                for a, b in ((start, min(stop, best[0])), (max(start, best[1]), stop))
                if b - a > 1
            ]
        waiting = sorted(set(left))
    return kept
