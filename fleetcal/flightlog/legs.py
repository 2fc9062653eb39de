"""Steady straight legs in a recorded flight, found by rule."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.flightlog.cells import Floats
from fleetcal.flightlog.settings import LegSettings
from fleetcal.flightlog.sliding_fit import ChannelSums, sliding_mean, sliding_slope
from fleetcal.flightlog.steady_search import longest_steady

Mask = npt.NDArray[np.bool_]

# share of the climb rate limit down to which a climb that passed the limit is followed
_SHOULDER: Final = 0.5


@dataclass(frozen=True)
class LegSpan:
    """A leg as a range of samples: from `start` up to, not including, `stop`."""

    start: int
    stop: int


def find_legs(
    t_s: Floats,
    airspeed_mps: Floats,
    altitude_m: Floats,
    track_rad: Floats,
    ground_speed_mps: Floats,
    settings: LegSettings | None = None,
    roll_rad: Floats | None = None,
) -> list[LegSpan]:
    """Find the steady straight legs of a flight.

    Turns, climbs and speed changes are seen by rates from a sliding line fit
    and cut the flight into stretches, each begun only after a time to settle.
    In each stretch the longest parts are taken whose drift and scatter in
    airspeed, altitude, track and ground speed are within tolerance; long ones
    are cut in equal pieces.

    Args:
        t_s (n,): Strictly increasing, in s.
        airspeed_mps, altitude_m, track_rad, ground_speed_mps (n,): NaN where missing; the airspeed
            may be indicated or true.
        roll_rad (n,): Bank, if recorded.

    Returns:
        In order of time, without overlap.
    """
    limits = settings if settings is not None else LegSettings()
    complete = np.isfinite(t_s)
    for column in (airspeed_mps, altitude_m, track_rad, ground_speed_mps):
        complete &= np.isfinite(column)
    rows = np.flatnonzero(complete)
    if rows.size < limits.fewest_samples:
        return []
    t = t_s[rows]
    columns = (airspeed_mps[rows], altitude_m[rows], track_rad[rows], ground_speed_mps[rows])
    roll = None if roll_rad is None else roll_rad[rows]
    interval = float(np.median(np.diff(t)))
    spans: list[LegSpan] = []
    for first, last in _unbroken(t, max(limits.gap_s, 3.0 * interval)):
        part = slice(first, last)
        piece_roll = None if roll is None else roll[part]
        for start, stop in _legs_between_gaps(
            t[part], [column[part] for column in columns], piece_roll, interval, limits
        ):
            spans.append(LegSpan(int(rows[first + start]), int(rows[first + stop - 1]) + 1))
    return spans


def _unbroken(t: Floats, gap_s: float) -> list[tuple[int, int]]:
    """Split at gaps in time."""
    breaks = np.flatnonzero(np.diff(t) > gap_s) + 1
    edges = [0, *breaks.tolist(), t.size]
    return list(pairwise(edges))


def _legs_between_gaps(
    t: Floats, columns: list[Floats], roll: Floats | None, interval: float, limits: LegSettings
) -> list[tuple[int, int]]:
    """Find the legs in a piece of flight without gaps."""
    if t.size < limits.fewest_samples or t[-1] - t[0] < limits.shortest_s:
        return []
    airspeed, altitude, track, speed = columns
    unwrapped = np.unwrap(track)
    steady = _steady(t, [airspeed, altitude, unwrapped, speed], roll, interval, limits)
    channels = (
        ChannelSums(
            t,
            airspeed,
            limits.airspeed_drift_mps,
            limits.airspeed_scatter_mps,
            limits.leg_acceleration_mps2,
        ),
        ChannelSums(
            t,
            altitude,
            limits.altitude_drift_m,
            limits.altitude_scatter_m,
            limits.leg_climb_rate_mps,
        ),
        ChannelSums(
            t,
            unwrapped,
            limits.track_drift_rad,
            limits.track_scatter_rad,
            limits.leg_turn_rate_radps,
        ),
        ChannelSums(t, speed, limits.ground_speed_drift_mps, limits.ground_speed_scatter_mps),
    )
    edges = _edges(_without_gusts(t, steady, max(limits.smoothing_s, 4.0 * interval)))
    legs: list[tuple[int, int]] = []
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        if start > 0:
            start = int(np.searchsorted(t, t[start] + limits.settle_s))
        legs.extend(longest_steady(t, channels, start, stop, limits))
    return sorted(legs)


def _edges(steady: Mask) -> npt.NDArray[np.intp]:
    """Return where stretches begin and end, in turn."""
    return np.flatnonzero(np.diff(np.concatenate([[False], steady, [False]]).astype(int)))


def _without_gusts(t: Floats, steady: Mask, width_s: float) -> Mask:
    """Close interruptions that are too short for a manoeuvre.

    A manoeuvre shows for at least the width of the sliding fit that sees it;
    what shows more briefly is a gust, which the tolerances of the whole leg judge.
    """
    filled = steady.copy()
    edges = _edges(~steady)
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        if start > 0 and stop < t.size and t[stop] - t[start] < width_s:
            filled[start:stop] = True
    return filled


def _with_shoulders(t: Floats, seen: Mask, shoulder: Mask, lasting_s: float) -> Mask:
    """Widen what is seen of a lasting climb by the gentler climb on either side of it.

    In rough air the rate of a gentle climb falls below the limit for a while
    before the aircraft levels off. A gust that shows briefly is not widened.
    """
    edges = _edges(shoulder)
    before = np.concatenate([[0], np.cumsum(seen)])
    widened = seen.copy()
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        share = (before[stop] - before[start]) / (stop - start)
        if share * (t[stop - 1] - t[start]) >= lasting_s:
            widened[start:stop] = True
    return widened


def _steady(
    t: Floats, columns: list[Floats], roll: Floats | None, interval: float, limits: LegSettings
) -> Mask:
    """Tell sample by sample whether the aircraft flies straight, level and at one speed."""
    airspeed, altitude, track, speed = columns
    width = max(limits.smoothing_s, 4.0 * interval)
    steady = sliding_mean(t, airspeed, width) >= limits.slowest_mps
    steady &= np.abs(sliding_slope(t, track, width)) <= limits.turn_rate_radps
    climb = np.abs(sliding_slope(t, altitude, 1.5 * width))
    seen, shoulder = (climb > share * limits.climb_rate_mps for share in (1.0, _SHOULDER))
    steady &= ~_with_shoulders(t, seen, shoulder, 2.0 * width)
    steady &= np.abs(sliding_slope(t, airspeed, 1.5 * width)) <= limits.acceleration_mps2
    steady &= np.abs(sliding_slope(t, speed, 1.5 * width)) <= 1.5 * limits.acceleration_mps2
    if roll is not None and np.isfinite(roll).any():
        known = np.isfinite(roll)
        filled = np.interp(t, t[known], roll[known])
        steady &= np.abs(sliding_mean(t, filled, 0.5 * width)) <= limits.bank_rad
    return steady
