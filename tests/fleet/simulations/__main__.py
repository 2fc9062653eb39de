"""Measure the fleet statistics on invented fleets: python -m tests.fleet.simulations.

Prints coverage of the two 95 % bands, the chance of a false flag in clean
groups, and the power against a judge who knows the truth, each with its Monte
Carlo standard error. Seeds are fixed: the same command prints the same table.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from concurrent.futures import Executor
from dataclasses import replace
from itertools import product

import numpy as np

from .bands import LOOKED_AT_KT, covered
from .campaign import rates, workers
from .flags import flagged
from .invented_fleet import Plan

GROUP_SIZES = (6, 10, 30)
PLAIN = Plan(10)
ALIKE = Plan(10, spread_kt=0.2, tilt=0.005)
RAGGED = Plan(10, ragged=True)
#: Lines do not share their seeds.
SEEDS_A_LINE = 1_000_000
JUDGES = "p-value alone | and at least 2 kt | judge who knows | exact test"


def show_bands(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield a line for each kind of fleet, size of group and choice of order."""
    at = ", ".join(f"{speed:.0f}" for speed in LOOKED_AT_KT)
    yield f"coverage of the 95 % bands at {at} kt, %: mean curve | next aircraft"
    kinds = [
        ("spread 1 kt", 1, PLAIN),
        ("spread 1 kt", None, PLAIN),
        ("spread 0.2 kt", None, ALIKE),
        ("ragged", None, RAGGED),
        ("bent curve", 2, replace(PLAIN, bend=0.2)),
        ("bent curve", None, replace(PLAIN, bend=0.2)),
        ("three groups", None, replace(PLAIN, groups=3)),
    ]
    for line, ((name, order, plan), aircraft) in enumerate(product(kinds, GROUP_SIZES)):
        seed = line * SEEDS_A_LINE
        sized = replace(plan, aircraft=aircraft)
        share, error = rates(covered, sized, order, fleets, seed, pool)
        told = [f"{100 * s:5.1f}" for s in share]
        yield (
            f"  {name:13} {aircraft:3} aircraft, order {_order(order)}: "
            f"{' '.join(told[:3])} | {' '.join(told[3:])}  (+- {100 * max(error):.1f})"
        )


def show_clean(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield the chance of any false flag in clean groups."""
    yield f"clean groups, chance of any false flag, %: {JUDGES}"
    kinds = [("spread 1 kt", PLAIN), ("spread 0.2 kt", ALIKE), ("ragged", RAGGED)]
    sizes = [*product(kinds, GROUP_SIZES), (("three groups", replace(PLAIN, groups=3)), 10)]
    for line, ((name, plan), aircraft) in enumerate(sizes):
        seed = (100 + line) * SEEDS_A_LINE
        sized = replace(plan, aircraft=aircraft)
        share, error = rates(flagged, sized, None, fleets, seed, pool)
        told = " | ".join(f"{100 * s:5.2f}" for s in share[1::2])
        yield f"  {name:13} {aircraft:3} aircraft: {told}  (+- {100 * np.nanmax(error[1::2]):.2f})"


def show_power(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield how often offset aircraft are found."""
    yield f"all offset aircraft flagged, %: {JUDGES}"
    kinds = [
        ("one of 10 by 5 kt", Plan(10, offsets_kt=(5.0,))),
        ("one of 10 by 5 kt, in 3 groups of 10", Plan(10, groups=3, offsets_kt=(5.0,))),
        ("two of 12 by 5 kt", Plan(12, offsets_kt=(5.0, 5.0))),
        ("two of 12 by 5 kt, in 3 groups of 12", Plan(12, groups=3, offsets_kt=(5.0, 5.0))),
    ]
    for line, (name, plan) in enumerate(kinds):
        seed = (200 + line) * SEEDS_A_LINE
        share, error = rates(flagged, plan, None, fleets, seed, pool)
        told = " | ".join(f"{100 * s:5.1f}" for s in share[::2])
        yield (
            f"  {name:36}: {told}  (+- {100 * np.nanmax(error):.1f}); others flagged "
            f"{100 * share[1]:.1f}; {100 * share[0] / share[4]:.0f} % of the judge who knows"
        )


def _order(order: int | None) -> str:
    return "chosen" if order is None else f"{order:6}"


SHOWS = {"bands": show_bands, "clean": show_clean, "power": show_power}


def main() -> None:
    """Parse the command line and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.fleet.simulations", description=__doc__)
    parser.add_argument(
        "what", nargs="*", metavar="WHAT", help=f"of {', '.join(SHOWS)}; all if none"
    )
    parser.add_argument("--fleets", type=int, default=1000, help="invented fleets a line")
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    unknown = set(asked.what) - set(SHOWS)
    if unknown:
        parser.error(f"no such simulation: {', '.join(sorted(unknown))}")
    with workers(asked.processes) as pool:
        for name in asked.what or SHOWS:
            started = time.monotonic()
            for line in SHOWS[name](asked.fleets, pool):
                print(line, flush=True)
            print(f"  ({asked.fleets} fleets a line, {time.monotonic() - started:.0f} s)")


if __name__ == "__main__":
    main()
