"""Steady climbs and glides in a recorded flight, and the pairs flown both ways.

A sawtooth climb is flown through one block of altitude at one airspeed, then
again on the opposite heading: a wind that changes with height gains or loses
energy for the aircraft, and the mean of both ways is free of it. The figures
are common practice, no published source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.flightlog.cells import Floats
from fleetcal.flightlog.settings import LegSettings
from fleetcal.flightlog.sliding_fit import ChannelSums, sliding_mean, sliding_slope
from fleetcal.flightlog.steady_search import longest_steady
from fleetcal.units import M_PER_FT, MPS_PER_KT, RAD_PER_DEG

Mask = npt.NDArray[np.bool_]

_FTMIN: Final = M_PER_FT / 60.0


@dataclass(frozen=True, kw_only=True)
class ClimbSettings:
    """What counts as a steady climb or glide, and as a pair.

    Attributes:
        slowest_mps: Below this airspeed the aircraft is taken to be on the ground (35 kt).
        gentlest_mps: Least rate up or down (120 ft/min).
        shortest_s, longest_s: Least duration (25 s); a longer one than `longest_s` (400 s) is cut.
        settle_s: Left out at the begin, after a turn or a change of power (10 s).
        smoothing_s: Width of the sliding line fits (10 s).
        turn_rate_radps, acceleration_mps2, rate_change_mps2: Above these a manoeuvre is seen: 0.8
            deg/s, 0.5 kt/s, and 40 ft/min in a second for the rate of climb.
        full_rate: Share of its usual rate down to which a climb or glide is followed (0.75).
        airspeed_drift_mps, airspeed_scatter_mps: 4 kt and 2.5 kt.
        altitude_scatter_m: About a line, 60 ft.
        track_drift_rad, track_scatter_rad: 10 deg and 5 deg.
        gap_s: A hole in the log longer than this ends a climb (5 s).
        opposite_rad: Tracks of a pair are this near to opposite (50 deg: across the wind both drift
            the same way).
        airspeed_apart_mps, apart_s: Of a pair: 4 kt; 1800 s from the end of one to the start of the
            other.
        shared_block: Least share of the lower of both height gains that both flew (0.5).
    """

    slowest_mps: float = 35.0 * MPS_PER_KT
    gentlest_mps: float = 120.0 * _FTMIN
    shortest_s: float = 25.0
    longest_s: float = 400.0
    fewest_samples: int = 8
    settle_s: float = 10.0
    smoothing_s: float = 10.0
    turn_rate_radps: float = 0.8 * RAD_PER_DEG
    acceleration_mps2: float = 0.5 * MPS_PER_KT
    rate_change_mps2: float = 40.0 * _FTMIN
    full_rate: float = 0.75
    airspeed_drift_mps: float = 4.0 * MPS_PER_KT
    airspeed_scatter_mps: float = 2.5 * MPS_PER_KT
    altitude_scatter_m: float = 60.0 * M_PER_FT
    track_drift_rad: float = 10.0 * RAD_PER_DEG
    track_scatter_rad: float = 5.0 * RAD_PER_DEG
    gap_s: float = 5.0
    opposite_rad: float = 50.0 * RAD_PER_DEG
    airspeed_apart_mps: float = 4.0 * MPS_PER_KT
    apart_s: float = 1800.0
    shared_block: float = 0.5


@dataclass(frozen=True, kw_only=True)
class ClimbSpan:
    """A steady climb or glide: samples from `start` up to, not including, `stop`.

    Attributes:
        rate_mps: Slope of pressure altitude, positive upwards.
        low_m, high_m: Pressure altitudes of the fitted line at its ends.
        airspeed_mps: Mean.
    """

    start: int
    stop: int
    t_start_s: float
    t_stop_s: float
    rate_mps: float
    low_m: float
    high_m: float
    airspeed_mps: float
    track_rad: float


@dataclass(frozen=True)
class ClimbPair:
    """One climb or glide flown both ways, or the reason why it stands alone.

    Attributes:
        members: Places in the sequence of climbs: two, or one.
        low_m, high_m: Block of pressure altitude that all members flew.
    """

    members: tuple[int, ...]
    low_m: float
    high_m: float
    refusal: str | None


def find_climbs(
    t_s: Floats,
    airspeed_mps: Floats,
    altitude_m: Floats,
    track_rad: Floats,
    settings: ClimbSettings | None = None,
) -> list[ClimbSpan]:
    """Find the steady straight climbs and glides of a flight.

    Args:
        t_s (n,): Strictly increasing, in s.
        airspeed_mps, altitude_m, track_rad (n,): NaN where missing.

    Returns:
        In order of time, without overlap.
    """
    limits = settings if settings is not None else ClimbSettings()
    columns = (airspeed_mps, altitude_m, track_rad)
    complete = np.isfinite(t_s) & np.all([np.isfinite(c) for c in columns], axis=0)
    rows = np.flatnonzero(complete)
    if rows.size < limits.fewest_samples:
        return []
    t = t_s[rows]
    interval = float(np.median(np.diff(t)))
    breaks = np.flatnonzero(np.diff(t) > max(limits.gap_s, 3.0 * interval)) + 1
    found: list[ClimbSpan] = []
    for first, last in pairwise([0, *breaks.tolist(), t.size]):
        part = rows[first:last]
        pieces = [c[part] for c in columns]
        for start, stop in _between_gaps(t[first:last], pieces, interval, limits):
            inside = slice(start, stop)
            found.append(_span_of(t[first:last][inside], [p[inside] for p in pieces], part[inside]))
    return found


def _between_gaps(
    t: Floats, columns: list[Floats], interval: float, limits: ClimbSettings
) -> list[tuple[int, int]]:
    """Find the climbs in a piece of flight without gaps."""
    if t.size < limits.fewest_samples or t[-1] - t[0] < limits.shortest_s:
        return []
    airspeed, altitude, track = columns
    unwrapped = np.unwrap(track)
    width = max(limits.smoothing_s, 4.0 * interval)
    rate = sliding_slope(t, altitude, 1.5 * width)
    straight = sliding_mean(t, airspeed, width) >= limits.slowest_mps
    straight &= np.abs(sliding_slope(t, unwrapped, width)) <= limits.turn_rate_radps
    straight &= np.abs(sliding_slope(t, airspeed, 1.5 * width)) <= limits.acceleration_mps2
    rate = np.where(np.isfinite(rate), rate, 0.0)
    straight &= np.abs(sliding_slope(t, rate, 1.5 * width)) <= limits.rate_change_mps2
    channels = (
        ChannelSums(t, airspeed, limits.airspeed_drift_mps, limits.airspeed_scatter_mps),
        ChannelSums(t, altitude, np.inf, limits.altitude_scatter_m),
        ChannelSums(t, unwrapped, limits.track_drift_rad, limits.track_scatter_rad),
    )
    legs = LegSettings(
        shortest_s=limits.shortest_s,
        longest_s=limits.longest_s,
        fewest_samples=limits.fewest_samples,
    )
    found: list[tuple[int, int]] = []
    for upwards in (rate, -rate):
        for start, stop in _lasting(t, upwards, straight, width, limits):
            begin = int(np.searchsorted(t, t[start] + limits.settle_s)) if start else start
            found.extend(longest_steady(t, channels, begin, stop, legs))
    return sorted(found)


def _lasting(
    t: Floats, upwards: Floats, straight: Mask, width_s: float, limits: ClimbSettings
) -> list[tuple[int, int]]:
    """Return stretches at one rate: a level-off begins where most of the rate is still there."""
    found = []
    for start, stop in _stretches(t, straight & (upwards >= limits.gentlest_mps), width_s):
        usual = float(np.median(upwards[start:stop]))
        full = np.zeros(t.size, dtype=bool)
        full[start:stop] = upwards[start:stop] >= limits.full_rate * usual
        found.extend(_stretches(t, full, width_s))
    return found


def _stretches(t: Floats, steady: Mask, width_s: float) -> list[tuple[int, int]]:
    """Return where steady stretches begin and end, gusts shorter than a manoeuvre closed."""
    filled = steady.copy()
    for start, stop in _edges(~steady):
        if start > 0 and stop < t.size and t[stop] - t[start] < width_s:
            filled[start:stop] = True
    return _edges(filled)


def _edges(steady: Mask) -> list[tuple[int, int]]:
    ends = np.flatnonzero(np.diff(np.concatenate([[False], steady, [False]]).astype(int)))
    return list(zip(ends[::2].tolist(), ends[1::2].tolist(), strict=True))


def _span_of(t: Floats, columns: list[Floats], rows: npt.NDArray[np.intp]) -> ClimbSpan:
    airspeed, altitude, track = columns
    rate, middle = line_through(t, altitude)
    half = 0.5 * abs(rate) * float(t[-1] - t[0])
    mean_track = math.atan2(float(np.mean(np.sin(track))), float(np.mean(np.cos(track))))
    return ClimbSpan(
        start=int(rows[0]),
        stop=int(rows[-1]) + 1,
        t_start_s=float(t[0]),
        t_stop_s=float(t[-1]),
        rate_mps=rate,
        low_m=middle - half,
        high_m=middle + half,
        airspeed_mps=float(np.mean(airspeed)),
        track_rad=mean_track % (2.0 * math.pi),
    )


def line_through(t_s: Floats, values: Floats) -> tuple[float, float]:
    """Return slope and mean of a fitted line.

    Args:
        t_s, values (n,): At least two different times.

    Returns:
        Per second, and in the unit of the values.
    """
    x = t_s - np.mean(t_s)
    return float(x @ values / (x @ x)), float(np.mean(values))


def pair_climbs(
    climbs: Sequence[ClimbSpan], settings: ClimbSettings | None = None
) -> list[ClimbPair]:
    """Join climbs flown both ways through one block at one airspeed.

    Each climb goes with the nearest in time that fits; every climb is in
    exactly one of the results.

    Args:
        climbs: In order of time.

    Returns:
        In order of their first member.
    """
    limits = settings if settings is not None else ClimbSettings()
    fitting = sorted(
        (second.t_start_s - first.t_stop_s, i, k)
        for i, first in enumerate(climbs)
        for k, second in enumerate(climbs)
        if i < k and _apart(first, second, limits) is None
    )
    free = set(range(len(climbs)))
    pairs: list[ClimbPair] = []
    for _, i, k in fitting:
        if {i, k} <= free:
            free -= {i, k}
            low = max(climbs[i].low_m, climbs[k].low_m)
            high = min(climbs[i].high_m, climbs[k].high_m)
            pairs.append(ClimbPair((i, k), low, high, None))
    for i in free:
        reason = _why_alone(climbs, i, limits)
        pairs.append(ClimbPair((i,), climbs[i].low_m, climbs[i].high_m, reason))
    return sorted(pairs, key=lambda pair: pair.members)


def _apart(first: ClimbSpan, second: ClimbSpan, limits: ClimbSettings) -> str | None:
    """Return why two climbs are no pair, the reason that comes first; None if they are one."""
    if (first.rate_mps > 0.0) != (second.rate_mps > 0.0):
        return "the other is a climb" if second.rate_mps > 0.0 else "the other is a glide"
    apart = abs(first.airspeed_mps - second.airspeed_mps)
    if apart > limits.airspeed_apart_mps:
        return f"airspeeds {apart / MPS_PER_KT:.0f} kt apart"
    turned = abs((second.track_rad - first.track_rad) % (2.0 * math.pi) - math.pi)
    if turned > limits.opposite_rad:
        return f"tracks {math.degrees(turned):.0f} degrees from opposite"
    shared = min(first.high_m, second.high_m) - max(first.low_m, second.low_m)
    lower = min(first.high_m - first.low_m, second.high_m - second.low_m)
    if shared < limits.shared_block * lower:
        return "another block of altitude"
    pause = second.t_start_s - first.t_stop_s
    return f"{pause / 60.0:.0f} minutes between" if pause > limits.apart_s else None


def _why_alone(climbs: Sequence[ClimbSpan], place: int, limits: ClimbSettings) -> str:
    """Return what keeps a climb from its likeliest partner."""
    one = climbs[place]
    others = [c for c in climbs if c is not one and (c.rate_mps > 0.0) == (one.rate_mps > 0.0)]
    if not others:
        return (
            "flown one way only: a wind that changes with height cannot be separated from "
            "performance"
        )
    near = min(others, key=lambda c: abs(c.airspeed_mps - one.airspeed_mps))
    first, second = sorted((one, near), key=lambda c: c.t_start_s)
    why = _apart(first, second, limits) or "its partner was paired with another one"
    return f"no partner on the opposite heading; the nearest in airspeed: {why}"
