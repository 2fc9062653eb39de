"""Time the pooled fit and all standings as the fleet grows, and against a mixed-model program.

``python -m tests.bench.fleet_fit`` prints, for invented fleets of 30 to 10,000 aircraft
with ten points each, the median time of choosing the order and fitting, of all standings,
and of both; the exponent with which time grows; the peak of memory, each size in a process
of its own; and what it costs to add one sortie to the largest fleet. For 300 aircraft it
then times statsmodels' MixedLM (restricted likelihood, Powell's search) on a few left-out
aircraft and scales that up to one fit for each of the 300. MixedLM takes neither the
uncertainty of a point nor an error shared by a sortie, so its model is the simpler one.

``--judge`` times the whole search for outliers as well, which fits many times.
"""

from __future__ import annotations

import argparse
import json
import resource
import statistics
import subprocess
import sys
import time
import warnings
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
from statsmodels.regression.mixed_linear_model import MixedLM

from fleetcal.fleet.outliers import judge_fleet
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import fit_fleet, fit_sums, search_start
from fleetcal.fleet.standing import all_standings
from fleetcal.fleet.sums import aircraft_sums
from tests.fleet.simulations.invented_fleet import Plan, draw

SIZES = (30, 300, 3_000, 10_000)
RUNS = {30: 15, 300: 9, 3_000: 5, 10_000: 3}
JUDGED = (30, 300, 3_000)  # --judge; ten thousand take minutes
LARGEST_EXPONENT = 1.1
COMPARED, LEFT_OUT, SMALLEST_RATIO = 300, 5, 50.0
SEED = 3


def main() -> None:
    """Print the tables, or the JSON of one size that a child process was asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--judge", action="store_true", help="time the search for outliers too")
    parser.add_argument("--size", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--mixed-model", action="store_true", help=argparse.SUPPRESS)
    chosen = parser.parse_args()
    if chosen.mixed_model:
        print(json.dumps(_time_mixed_model()))
    elif chosen.size:
        print(json.dumps(_time_fleet(chosen.size, chosen.judge)))
    else:
        _report(chosen.judge)


def _time_fleet(aircraft: int, judge: bool) -> dict[str, Any]:
    """Return times in seconds and memory in MiB of one size."""
    points = draw(Plan(aircraft=aircraft), np.random.default_rng(SEED))
    before = _peak_mib()
    fitting, standings = [], []
    for _ in range(RUNS[aircraft]):
        taken, fit = _timed(lambda: fit_fleet(points))
        fitting.append(taken)
        standings.append(_timed(partial(all_standings, points, fit))[0])
    found: dict[str, Any] = {
        "aircraft": aircraft,
        "points": len(points.x),
        "runs": RUNS[aircraft],
        "order": fit.order,
        "nodes": len(fit.averaged.weight),
        "fit_s": statistics.median(fitting),
        "standings_s": statistics.median(standings),
        "both_s": statistics.median(map(sum, zip(fitting, standings, strict=True))),
        "before_mib": before,
        "peak_mib": _peak_mib(),
        **_time_one_sortie(points),
    }
    if judge and aircraft in JUDGED:
        found["judge_s"] = _timed(lambda: judge_fleet(points))[0]
    return found


def _time_one_sortie(points: FleetPoints) -> dict[str, float]:
    """Time a new sortie of one aircraft: its sums alone, all sums, and the fit from its old end."""
    changed = points.aircraft == points.aircraft.max() // 2
    own = FleetPoints(
        x=points.x[changed],
        y=points.y[changed],
        u_own=points.u_own[changed],
        u_shared=points.u_shared[changed],
        sortie=points.sortie[changed],
        aircraft=np.zeros(int(changed.sum()), dtype=np.int64),
        group_of=np.zeros(1, dtype=np.int64),
    )
    every = aircraft_sums(points).with_order(1)
    start = search_start(fit_sums(every, points.groups))
    return {
        "own_sums_s": _median(lambda: aircraft_sums(own)),
        "all_sums_s": _median(lambda: aircraft_sums(points)),
        "cold_fit_s": _median(lambda: fit_sums(every, points.groups)),
        "warm_fit_s": _median(lambda: fit_sums(every, points.groups, start)),
    }


def _time_mixed_model() -> dict[str, float]:
    """Time one MixedLM fit for each of a few left-out aircraft of the compared fleet."""
    points = draw(Plan(aircraft=COMPARED), np.random.default_rng(SEED))
    order = fit_fleet(points).order
    taken = []
    for left_out in np.linspace(0, COMPARED - 1, LEFT_OUT).astype(int):
        rest = points.without_aircraft({int(left_out)})
        x = (rest.x - 0.25)[:, None] ** np.arange(order + 1)
        model = MixedLM(rest.y, x, groups=rest.aircraft, exog_re=x[:, : min(2, order + 1)])
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of its own steps; only its time is wanted
            taken.append(_timed(partial(model.fit, reml=True, method="powell"))[0])
    return {"order": order, "one_fit_s": statistics.median(taken), "slowest_s": max(taken)}


def _report(judge: bool) -> None:
    options = ["--judge"] if judge else []
    found = [_in_a_process("--size", str(size), *options) for size in SIZES]
    print("aircraft  points  runs  order  nodes   fit s  standings s  both s  peak MiB  grown MiB")
    for row in found:
        print(
            f"{row['aircraft']:8d} {row['points']:7d} {row['runs']:5d} {row['order']:6d} "
            f"{row['nodes']:6d} {row['fit_s']:7.3f} {row['standings_s']:12.3f} "
            f"{row['both_s']:7.3f} {row['peak_mib']:9.0f} "
            f"{row['peak_mib'] - row['before_mib']:10.0f}"
        )
    _report_growth(found, "both_s", "fit and all standings")
    judged = [row for row in found if "judge_s" in row]
    if judged:
        told = ", ".join(f"{row['aircraft']}: {row['judge_s']:.2f} s" for row in judged)
        print(f"whole search for outliers, one run each: {told}")
        _report_growth(judged, "judge_s", "whole search for outliers")
    _report_one_sortie(found[-1])
    _report_ratio(found[SIZES.index(COMPARED)])


def _report_growth(found: list[dict[str, Any]], what: str, name: str) -> None:
    size = np.log([row["aircraft"] for row in found])
    taken = np.log([row[what] for row in found])
    steps = np.diff(taken) / np.diff(size)
    told = ", ".join(
        f"{one['aircraft']} to {other['aircraft']}: {step:.2f}"
        for one, other, step in zip(found, found[1:], steps, strict=False)
    )
    overall = float(np.polyfit(size, taken, 1)[0])
    print(f"{name}: exponent of growth {told}; least squares over all {overall:.2f}")
    worst = max(overall, *steps)
    print(f"  largest {worst:.2f}, {_held(worst <= LARGEST_EXPONENT)} (at most {LARGEST_EXPONENT})")


def _report_one_sortie(row: dict[str, Any]) -> None:
    print(
        f"a new sortie of one aircraft of {row['aircraft']}: its own sums "
        f"{1e3 * row['own_sums_s']:.2f} ms, all sums anew {1e3 * row['all_sums_s']:.1f} ms; "
        f"then fitting again at order 1, from where the fit before ended "
        f"{row['warm_fit_s']:.2f} s, from the beginning {row['cold_fit_s']:.2f} s"
    )


def _report_ratio(row: dict[str, Any]) -> None:
    other = _in_a_process("--mixed-model")
    whole = other["one_fit_s"] * COMPARED
    print(
        f"MixedLM, {COMPARED} aircraft, order {other['order']}: {other['one_fit_s']:.2f} s a fit "
        f"(median of {LEFT_OUT} left-out aircraft, slowest {other['slowest_s']:.2f} s); "
        f"scaled to {COMPARED} fits, not run: {whole:.0f} s"
    )
    for name in ("both_s", "judge_s"):
        if name in row:
            ratio = whole / row[name]
            what = {"both_s": "fit and all standings", "judge_s": "whole search for outliers"}
            print(
                f"  {what[name]} {row[name]:.2f} s: {ratio:.0f} times faster, "
                f"{_held(ratio >= SMALLEST_RATIO)} (at least {SMALLEST_RATIO:.0f})"
            )


def _held(good: bool) -> str:
    return "held" if good else "NOT HELD"


def _in_a_process(*words: str) -> dict[str, Any]:
    """Run this module once more for one figure, so that its peak of memory is its own."""
    command = [sys.executable, "-m", "tests.bench.fleet_fit", *words]
    done = subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True)
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def _timed(action: Callable[[], Any]) -> tuple[float, Any]:
    start = time.perf_counter()
    result = action()
    return time.perf_counter() - start, result


def _median(action: Callable[[], Any]) -> float:
    return statistics.median(_timed(action)[0] for _ in range(5))


def _peak_mib() -> float:
    """Return the largest memory of this process so far (its parent's imports at least)."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


if __name__ == "__main__":
    main()
