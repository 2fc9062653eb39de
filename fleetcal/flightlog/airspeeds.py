"""Stretches of an ordinary flight at one meant airspeed, and the airspeeds there are.

No leg is needed: a flight falls into stretches by the changes of airspeed that last. A short
gust neither begins a stretch nor moves one to another airspeed, since stretches are told apart
by means over half a minute and put together by their own means.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from fleetcal.flightlog.cells import Floats
from fleetcal.flightlog.settings import AirspeedSettings

_GRAVITY_MPS2: Final = 9.80665
_FEWEST_SAMPLES: Final = 8


@dataclass(frozen=True)
class AirspeedSpan:
    """A stretch at one airspeed.

    Attributes:
        start, stop: First sample, and the one after the last.
        airspeed: Which of the flight's airspeeds it was flown at, from 0, the slowest.
    """

    start: int
    stop: int
    airspeed: int


def find_airspeeds(
    t_s: Floats,
    airspeed_mps: Floats,
    track_rad: Floats,
    settings: AirspeedSettings | None = None,
) -> list[AirspeedSpan]:
    """Cut a flight into stretches at the airspeeds it was flown at.

    Args:
        t_s (n,): Strictly increasing, s.
        airspeed_mps, track_rad (n,): NaN where missing.

    Returns:
        In order of time; none where the aircraft never flew long at one airspeed.
    """
    limits = settings if settings is not None else AirspeedSettings()
    rows = np.flatnonzero(np.isfinite(np.stack([t_s, airspeed_mps, track_rad])).all(axis=0))
    if rows.size < _FEWEST_SAMPLES:
        return []
    t, airspeed = t_s[rows], airspeed_mps[rows]
    good = _is_steady(t, airspeed, np.unwrap(track_rad[rows]), limits)
    spans = [
        part
        for first, last in _contiguous(t, good, limits)
        for part in _undrifted(t, airspeed, first, last, limits)
    ]
    if not spans:
        return []
    means = np.array([airspeed[first:last].mean() for first, last in spans])
    lasting = np.array([t[last - 1] - t[first] for first, last in spans])
    which = _grouped(means, lasting, limits)
    return [
        AirspeedSpan(int(rows[first]), int(rows[last - 1]) + 1, int(group))
        for (first, last), group in zip(spans, which, strict=True)
    ]


def _is_steady(t: Floats, airspeed: Floats, track: Floats, limits: AirspeedSettings) -> Floats:
    """Return where the airspeed is not being changed, and no turn is steep."""
    before, after = (
        _sliding_mean(t, airspeed, -limits.smoothing_s),
        _sliding_mean(t, airspeed, limits.smoothing_s),
    )
    ends = np.minimum(np.searchsorted(t, t + 10.0), len(t) - 1)
    begins = np.maximum(np.searchsorted(t, t - 10.0), 0)
    rate = (track[ends] - track[begins]) / np.maximum(t[ends] - t[begins], 1.0)
    load = np.hypot(1.0, airspeed * rate / _GRAVITY_MPS2)
    steady = np.abs(after - before) <= limits.change_mps
    return np.asarray(steady & (after >= limits.slowest_mps) & (load <= limits.largest_load))


def _sliding_mean(t: Floats, values: Floats, over_s: float) -> Floats:
    """Return the mean over the seconds that follow each sample, or that come before it."""
    sums = np.concatenate([[0.0], np.cumsum(values)])
    first = np.searchsorted(t, t + min(over_s, 0.0))
    last = np.searchsorted(t, t + max(over_s, 0.0), side="right")
    return np.asarray((sums[last] - sums[first]) / (last - first))


def _contiguous(t: Floats, good: Floats, limits: AirspeedSettings) -> list[tuple[int, int]]:
    longest_gap = max(limits.gap_s, 3.0 * float(np.median(np.diff(t))))
    holes = np.flatnonzero(np.diff(t) > longest_gap) + 1
    edges = np.flatnonzero(np.diff(good)) + 1
    cuts = sorted({0, *holes.tolist(), *edges.tolist(), len(t)})
    return [
        (first, last)
        for first, last in pairwise(cuts)
        if good[first]
        and last - first >= _FEWEST_SAMPLES
        and t[last - 1] - t[first] >= limits.shortest_s
    ]


def _undrifted(
    t: Floats, airspeed: Floats, first: int, last: int, limits: AirspeedSettings
) -> list[tuple[int, int]]:
    """Halve a stretch over which the airspeed drifted, until its parts are steady or too short."""
    lasting = t[last - 1] - t[first]
    third = (last - first) // 3
    drifted = abs(airspeed[last - third : last].mean() - airspeed[first : first + third].mean())
    if drifted <= limits.change_mps or lasting < 2.0 * limits.shortest_s:
        return [(first, last)]
    middle = (first + last) // 2
    return [
        part
        for begin, end in ((first, middle), (middle, last))
        for part in _undrifted(t, airspeed, begin, end, limits)
    ]


def _grouped(means: Floats, lasting: Floats, limits: AirspeedSettings) -> list[int]:
    """Join the nearest airspeeds until they are apart, and few."""
    order = np.argsort(means)
    groups = [[int(i)] for i in order]
    centres = [float(means[i]) for i in order]
    weight = [float(lasting[i]) for i in order]
    while len(groups) > 1:
        gaps = np.diff(centres)
        nearest = int(np.argmin(gaps))
        if gaps[nearest] > limits.apart_mps and len(groups) <= limits.most_airspeeds:
            break
        both = weight[nearest] + weight[nearest + 1]
        centres[nearest] += (centres.pop(nearest + 1) - centres[nearest]) * (
            weight[nearest + 1] / both
        )
        weight[nearest] = both
        weight.pop(nearest + 1)
        groups[nearest] += groups.pop(nearest + 1)
    which = [0] * len(means)
    for number, members in enumerate(groups):
        for member in members:
            which[member] = number
    return which
