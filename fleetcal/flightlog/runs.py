"""Runs: legs flown one after the other at one airspeed and altitude on different tracks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fleetcal.flightlog.settings import RunSettings
from fleetcal.flightlog.summary import LegSummary


@dataclass(frozen=True)
class RunPlan:
    """Legs that belong together, or the reason why they cannot be solved.

    Attributes:
        legs: Places in the sequence of legs, in order of time.
        refusal: None if the legs can be solved; else the reason with its figure.
    """

    legs: tuple[int, ...]
    refusal: str | None


def form_runs(legs: Sequence[LegSummary], settings: RunSettings | None = None) -> list[RunPlan]:
    """Join legs at one airspeed and altitude into runs.

    A leg at another speed in between does not end a run; a long pause does.
    Legs too many for one run are divided so that as many as possible can be
    used. A run keeps of a long straight at its ends only the pieces next to it.

    Args:
        legs: In order of time. Legs without times are joined by speed and altitude only.

    Returns:
        In order of their first leg; every leg is in exactly one of them.
    """
    limits = settings if settings is not None else RunSettings()
    plans: list[RunPlan] = []
    for chain in _chains(legs, limits):
        plans.extend(_divide(legs, chain, limits))
    return sorted(plans, key=lambda plan: plan.legs)


def judge_run(
    legs: Sequence[LegSummary], run: Sequence[int], settings: RunSettings | None = None
) -> str | None:
    """Tell why a run cannot be solved.

    Args:
        run: Places of its legs.

    Returns:
        The reason with its figure, None if the run can be solved.
    """
    limits = settings if settings is not None else RunSettings()
    if len(run) < limits.fewest_legs:
        noun = "leg" if len(run) == 1 else "legs"
        return (
            f"only {len(run)} {noun}; at least {limits.fewest_legs} on different tracks are needed"
        )
    tracks = [legs[index].track_rad for index in run]
    directions = _directions(tracks, limits.same_direction_rad)
    shown = " and ".join(f"{math.degrees(track) % 360.0:03.0f}" for track in directions)
    if len(directions) == 1:
        return f"all legs lie on one track ({shown} degrees)"
    gap = largest_track_gap(tracks)
    if gap > limits.largest_track_gap_rad:
        return (
            f"the largest gap between neighbouring tracks is {math.degrees(gap):.0f} degrees; "
            f"at most {math.degrees(limits.largest_track_gap_rad):.0f} can be solved"
        )
    if len(directions) == 2:
        return f"only two opposite tracks ({shown} degrees); the wind across them cannot be solved"
    return None


def largest_track_gap(tracks_rad: Sequence[float]) -> float:
    """Return the largest angle between neighbouring tracks.

    Args:
        tracks_rad: In rad.

    Returns:
        In rad; a full circle for a single track.
    """
    around = sorted(track % math.tau for track in tracks_rad)
    turned = [*around[1:], around[0] + math.tau]
    return max(after - before for before, after in zip(around, turned, strict=True))


def _directions(tracks_rad: Sequence[float], same_rad: float) -> list[float]:
    """Reduce tracks to directions that differ; the first track of each stands for it."""
    found: list[float] = []
    for track in tracks_rad:
        if all(abs(math.remainder(track - other, math.tau)) > same_rad for other in found):
            found.append(track)
    return found


def _chains(legs: Sequence[LegSummary], limits: RunSettings) -> list[list[int]]:
    """Join each leg to the nearest chain in speed and altitude that has not been left long."""
    chains: list[list[int]] = []
    for index, leg in enumerate(legs):
        apart = [_apart(legs, chain, leg, limits) for chain in chains]
        if apart and min(apart) <= 1.0:
            chains[apart.index(min(apart))].append(index)
        else:
            chains.append([index])
    return chains


def _apart(
    legs: Sequence[LegSummary], chain: Sequence[int], leg: LegSummary, limits: RunSettings
) -> float:
    """Tell how far a leg is from a chain, as a share of what is allowed.

    Times that are not known bar nothing.
    """
    if leg.t_start_s - legs[chain[-1]].t_stop_s > limits.gap_s:
        return math.inf
    recent = [
        legs[i] for i in chain if not leg.t_stop_s - legs[i].t_start_s > limits.longest_s
    ] or [legs[chain[-1]]]
    airspeed = sum(other.airspeed_mps for other in recent) / len(recent)
    altitude = sum(other.altitude_m for other in recent) / len(recent)
    return max(
        abs(leg.airspeed_mps - airspeed) / limits.airspeed_apart_mps,
        abs(leg.altitude_m - altitude) / limits.altitude_apart_m,
    )


def _divide(legs: Sequence[LegSummary], chain: Sequence[int], limits: RunSettings) -> list[RunPlan]:
    """Divide a chain into runs: most legs used, then fewest runs, then shortest time."""
    count = len(chain)
    # best[i]: (legs used, - runs, - seconds) and the cut points for the chain from i on
    best: list[tuple[tuple[int, int, float], list[tuple[int, int]]]] = [((0, 0, 0.0), [])]
    for first in range(count - 1, -1, -1):
        choice = best[0]
        for last in range(first + limits.fewest_legs, count + 1):
            lasting = legs[chain[last - 1]].t_stop_s - legs[chain[first]].t_start_s
            if lasting > limits.longest_s:
                break
            if judge_run(legs, chain[first:last], limits) is not None:
                continue
            (used, runs, seconds), cuts = best[last - first - 1]
            seconds -= 0.0 if math.isnan(lasting) else lasting
            score = (used + last - first, runs - 1, seconds)
            if score > choice[0]:
                choice = (score, [(first, last), *cuts])
        best.insert(0, choice)
    return _plans(legs, chain, best[0][1], limits)


def _plans(
    legs: Sequence[LegSummary],
    chain: Sequence[int],
    cuts: Sequence[tuple[int, int]],
    limits: RunSettings,
) -> list[RunPlan]:
    """Turn cut points into plans; what lies outside them is refused with its reason."""
    plans: list[RunPlan] = []
    done = 0
    for first, last in cuts:
        first, last = _near_pieces(legs, chain, first, last, limits)
        plans.extend(_left_over(legs, chain[done:first], limits, bool(cuts)))
        plans.append(RunPlan(tuple(chain[first:last]), None))
        done = last
    plans.extend(_left_over(legs, chain[done:], limits, bool(cuts)))
    return plans


def _near_pieces(
    legs: Sequence[LegSummary], chain: Sequence[int], first: int, last: int, limits: RunSettings
) -> tuple[int, int]:
    """Drop the far pieces of a long straight at either end of a run."""

    def same(one: int, other: int) -> bool:
        apart = math.remainder(legs[chain[one]].track_rad - legs[chain[other]].track_rad, math.tau)
        return abs(apart) <= limits.same_direction_rad

    inner = first
    while inner + 1 < last and same(first, inner + 1):
        inner += 1
    outer = last - 1
    while outer - 1 > inner and same(last - 1, outer - 1):
        outer -= 1
    ends_s, begins_s = legs[chain[inner]].t_stop_s, legs[chain[outer]].t_start_s
    while first < inner and ends_s - legs[chain[first]].t_start_s > limits.straight_s:
        first += 1
    while last - 1 > outer and legs[chain[last - 1]].t_stop_s - begins_s > limits.straight_s:
        last -= 1
    return first, last


def _left_over(
    legs: Sequence[LegSummary], group: Sequence[int], limits: RunSettings, near_run: bool
) -> list[RunPlan]:
    """Refuse legs that are in no run, with the reason."""
    if not group:
        return []
    reason = judge_run(legs, group, limits)
    if reason is None:
        lasting = legs[group[-1]].t_stop_s - legs[group[0]].t_start_s
        reason = (
            f"the legs last {lasting:.0f} s together; at most {limits.longest_s:.0f} s are used"
        )
    elif near_run and len(group) >= 1:
        reason += " (the neighbouring legs of this speed make a run without them)"
    return [RunPlan(tuple(group), reason)]
