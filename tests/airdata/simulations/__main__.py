"""Print the figures: ``python -m tests.airdata.simulations [RUNS]``."""

from __future__ import annotations

import sys

import numpy as np

from tests.airdata.simulations import coverage, efficiency
from tests.airdata.simulations.flown import Air


def main(runs: int) -> None:
    """Print efficiency and coverage, seeds fixed."""
    print(f"True airspeed, gusts 0.6 kt with 10 s memory, hold 0.8 kt, {runs} runs; knots rms")
    print("                              solved  bound  ratio  single samples  ratio    bias")
    for name, tracks in {
        "three legs": (0.0, 120.0, 240.0),
        "four legs": efficiency.BOX,
        "six legs": tuple(60.0 * i for i in range(6)),
    }.items():
        _show(name, efficiency.legs(np.random.default_rng(11), runs, tracks, Air()))
    _show("one turn of 360 deg", efficiency.turn(np.random.default_rng(12), runs, Air()))
    print("\nThe same under a steady veer of 8 degrees in ten minutes")
    for name, tracks in efficiency.ORDERS.items():
        air = Air(veer_deg_in_ten_minutes=8.0)
        _show(name, efficiency.legs(np.random.default_rng(13), runs, tracks, air))
    print("\nCoverage of the 95 % interval of dVpc, all supposed errors drawn")
    print("                              inside            rms error   mean u   (kt)")
    for air_name, air in (("smooth", coverage.SMOOTH), ("rough", coverage.ROUGH)):
        for count in (3, 4, 6):
            found = coverage.legs(np.random.default_rng(21), runs, count, air)
            _covered(f"{count} legs, {air_name} air", found)
        for seconds in (120, 240):
            found = coverage.turns(np.random.default_rng(22), runs, seconds, air)
            _covered(f"turn of {3 * seconds} deg, {air_name} air", found)


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
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
