"""Random flights with known legs, and how well the legs are found and joined to runs."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from fleetcal.flightlog import (
    LegSettings,
    LegSpan,
    LegSummary,
    RunSettings,
    find_legs,
    form_runs,
    summarise_leg,
)
from fleetcal.flightlog.runs import judge_run
from tests.flightlog.flight_maker import Flight, fly

SETTINGS = LegSettings()
# this share of a found leg may lie in a manoeuvre: the first seconds of a turn do not show yet,
# and the end of a gentle climb looks like the scatter of a rough leg
SPARE = 0.2


@dataclass(kw_only=True)
class Score:
    """Counts over some flights.

    Attributes:
        flown, found: Legs flown, and of these found.
        false: Found legs of which more than a small share lies in a turn, climb or speed change.
        touching: Found legs of which any sample lies in a manoeuvre.
        most: Largest share of a found leg that does.
        starts_s, ends_s: Begin and end of the found legs against the flown ones, where the time
            left out to settle counts as part of the flown leg's begin.
        runs, mixed: Runs to solve, and of these with legs flown at different speeds.
        solvable, solved: Speeds whose flown legs make a run, and of these with a run found.
    """

    flown: int = 0
    found: int = 0
    false: int = 0
    touching: int = 0
    most: float = 0.0
    starts_s: list[float] = field(default_factory=list)
    ends_s: list[float] = field(default_factory=list)
    runs: int = 0
    mixed: int = 0
    solvable: int = 0
    solved: int = 0


def plan(rng: np.random.Generator) -> list[tuple[str, float, float, float, float]]:
    """Make up a flight: (name, seconds, speed change kt, climb ft, turn deg)."""
    steps = [
        ("taxi", 60.0, -85.0, 0.0, 40.0),
        ("take-off", 40.0, 85.0, 0.0, 0.0),
        ("climb", float(rng.uniform(90.0, 200.0)), 0.0, float(rng.uniform(900.0, 2000.0)), 60.0),
    ]
    speed = 90.0
    for _ in range(int(rng.integers(2, 5))):
        # away from the nearer end of what such an aircraft flies at
        change = float(rng.uniform(12.0, 35.0)) * (1.0 if speed < 95.0 else -1.0)
        speed += change
        steps.append(("speed change", abs(change) / rng.uniform(0.5, 1.2), change, 0.0, 0.0))
        if rng.random() < 0.5:
            feet = float(rng.choice([-1.0, 1.0]) * rng.uniform(300.0, 900.0))
            steps.append(("climb", abs(feet) / rng.uniform(5.0, 14.0), 0.0, feet, 0.0))
        legs = int(rng.integers(3, 7))
        for _ in range(legs):
            steps.append(("leg", float(rng.uniform(45.0, 150.0)), 0.0, 0.0, 0.0))
            turn = float(rng.choice([-1.0, 1.0]) * rng.uniform(50.0, 150.0))
            steps.append(("turn", abs(turn) / rng.uniform(2.0, 4.0), 0.0, 0.0, turn))
        if rng.random() < 0.3:
            steps.append(("orbit", 120.0, 0.0, 0.0, 360.0))
    steps.append(("descent", 200.0, 0.0, -1500.0, 50.0))
    return steps


def search(seed: int, score: Score) -> None:
    """Fly one flight at random and add how its legs were found."""
    rng = np.random.default_rng(seed)
    steps = plan(rng)
    flight = fly(
        steps,
        rate_hz=float(rng.choice([0.5, 1.0, 1.0, 2.0, 5.0])),
        wind_kt=(float(rng.uniform(-25.0, 25.0)), float(rng.uniform(-25.0, 25.0))),
        seed=seed,
        rough=float(rng.choice([0.1, 0.5, 1.0, 1.3])),
    )
    whole = rng.random() < 0.4
    logged = flight.logged(*((1.0, 10.0, 1.0) if whole else (0.1, 1.0, 0.1)))
    roll = flight.roll if rng.random() < 0.3 else None
    time_s, airspeed, altitude, east, north = logged
    spans = find_legs(time_s, airspeed, altitude, east, north, settings=SETTINGS, roll_rad=roll)
    _add(flight, spans, score)
    speeds = np.cumsum([name == "speed change" for name, *_ in steps])
    _add_runs(flight, logged, spans, speeds, score)


def _add(flight: Flight, spans: list[LegSpan], score: Score) -> None:
    homes: dict[int, list[LegSpan]] = {}
    for span in spans:
        segments = flight.segment[span.start : span.stop]
        inside = np.isin(segments, flight.legs)
        outside = float(np.mean(~inside))
        score.most = max(score.most, outside)
        score.touching += outside > 0.0
        if outside > SPARE:
            score.false += 1
            continue
        homes.setdefault(int(np.median(segments[inside])), []).append(span)
    score.flown += len(flight.legs)
    for number in flight.legs:
        if number not in homes:
            continue
        score.found += 1
        flown = np.flatnonzero(flight.segment == number)
        first, last = homes[number][0], homes[number][-1]
        begin = flight.t[flown[0]] + SETTINGS.settle_s
        score.starts_s.append(float(flight.t[first.start] - begin))
        score.ends_s.append(float(flight.t[last.stop - 1] - flight.t[flown[-1]]))


def _add_runs(
    flight: Flight,
    logged: tuple[np.ndarray, ...],
    spans: list[LegSpan],
    speeds: np.ndarray,
    score: Score,
) -> None:
    """Join the legs to runs; `speeds` tells which speed each step of the plan was flown at."""

    def told(span: LegSpan) -> LegSummary:
        t, airspeed, altitude, track, ground_speed = logged
        warm = np.full(t.size, 280.0)
        return summarise_leg(span, t, airspeed, altitude, warm, track, ground_speed)

    homes = [int(speeds[int(np.median(flight.segment[s.start : s.stop]))]) for s in spans]
    runs = [plan.legs for plan in form_runs([told(s) for s in spans]) if plan.refusal is None]
    found = [{homes[leg] for leg in run} for run in runs]
    score.runs += len(runs)
    score.mixed += sum(len(flown) > 1 for flown in found)
    flown: dict[int, list[LegSummary]] = {}
    for number in flight.legs:
        rows = np.flatnonzero(flight.segment == number)
        flown.setdefault(int(speeds[number]), []).append(told(LegSpan(rows[0], rows[-1] + 1)))
    for speed, legs in flown.items():
        short = legs[-1].t_stop_s - legs[0].t_start_s <= RunSettings().longest_s
        if short and judge_run(legs, range(len(legs))) is None:
            score.solvable += 1
            score.solved += any(speed in run for run in found)
