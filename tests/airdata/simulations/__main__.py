"""Print the figures: ``python -m tests.airdata.simulations [RUNS [FLIGHTS]]``.

RUNS (2,000) is for efficiency and coverage of single runs, 0 leaves them out; FLIGHTS (40) is
for each line of the table of whole flights, three runs each.
"""

from __future__ import annotations

import sys

import numpy as np

from fleetcal.airdata.wind_strengths import STILL
from tests.airdata.simulations import coverage, efficiency, table
from tests.airdata.simulations.conditions import CONDITIONS
from tests.airdata.simulations.flown import Air
from tests.airdata.simulations.plans import BOX


def main(runs: int, flights: int) -> None:
    """Print efficiency and coverage of single runs, then whole flights; seeds fixed."""
    if runs:
        _single_runs(runs)
    for words, solve in (("By legs", table.by_legs), ("By two full circles", table.by_manoeuvres)):
        print(f"\n{words}, flights of three runs at 105, 88 and 71 kt; dVpc, kt\n{table.HEADING}")
        for name, condition in CONDITIONS.items():
            if solve is table.by_manoeuvres and (
                condition.tracks_deg != BOX or condition.alternating
            ):
                continue  # a circle has no legs to leave out or to turn round
            print(table.line_text(name, solve(condition, flights, 31)), flush=True)


def _single_runs(runs: int) -> None:
    print(f"True airspeed, gusts 0.6 kt with 10 s memory, hold 0.8 kt, {runs} runs; knots rms")
    print("                              solved  bound  ratio  single samples  ratio    bias")
    for name, tracks in {
        "three legs": (0.0, 120.0, 240.0),
        "four legs": efficiency.BOX,
        "six legs": tuple(60.0 * i for i in range(6)),
    }.items():
        for words, prior in (("", STILL), (", wind may move", efficiency.MOVING)):
            solved = efficiency.legs(np.random.default_rng(11), runs, tracks, Air(), prior=prior)
            _show(name + words, solved)
    _show("one turn of 360 deg", efficiency.turn(np.random.default_rng(12), runs, Air()))
    print("\nThe same under a steady veer of 8 degrees in ten minutes")
    for name, tracks in efficiency.ORDERS.items():
        air = Air(veer_deg_in_ten_minutes=8.0)
        _show(name, efficiency.legs(np.random.default_rng(13), runs, tracks, air))
    print("\nCoverage of the 95 % interval of dVpc, all supposed errors drawn")
    print("                              inside            rms error   mean u   (kt)")
    for air_name, moving in (("smooth", coverage.SMOOTH), ("rough", coverage.ROUGH)):
        for count in (3, 4, 6):
            for together in (3, 1):
                found = coverage.legs(21, runs // 3, count, moving, together)
                _covered(f"{together} x {count} legs, {air_name} air", found)
        for circles in (1.0, 2.0):
            found = coverage.turns(22, runs, circles, moving)
            _covered(f"turn of {360 * circles:.0f} deg, {air_name} air", found)


def _show(name: str, found: efficiency.Efficiency) -> None:
    print(
        f"{name:28s}  {found.solved:6.3f} {found.bound:6.3f} {found.solved / found.bound:6.3f} "
        f"{found.single_sample:12.3f} {found.solved / found.single_sample:9.3f} {found.bias:+8.3f}"
    )


def _covered(name: str, found: coverage.Coverage) -> None:
    print(
        f"{name:28s}  {found.inside:.3f} +- {found.monte_carlo:.3f}"
        f"{found.rms_error_kt:12.3f}{found.mean_u_kt:9.3f}"
    )


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(*given, *(2000, 40)[len(given) :])
