"""What comparing groups and drawing pairings towards their port are worth, line by line."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from dataclasses import replace
from functools import partial
from itertools import product
from typing import Final

from .bands import LOOKED_AT_KT
from .campaign import rates
from .comparisons import groups_differ, pairings_shrunk
from .invented_fleet import Plan

TWO: Final = Plan(aircraft=10, groups=2)
RAGGED: Final = replace(TWO, ragged=True, sortie_kt=0.6)
#: Two groups: name, plan, and by how much the second is off, kt.
CONTRASTS: Final = (
    *(
        (f"{count} and {count} aircraft", replace(TWO, aircraft=count), 0.0)
        for count in (6, 10, 30)
    ),
    ("3 and 3 aircraft", replace(TWO, aircraft=3), 0.0),
    ("spread 2 kt", replace(TWO, spread_kt=2.0, tilt=0.06), 0.0),
    ("spread 0.2 kt", replace(TWO, spread_kt=0.2, tilt=0.005), 0.0),
    ("ragged", RAGGED, 0.0),
    ("skewed aircraft", replace(TWO, tails="skewed"), 0.0),
    ("kinked 0.6 kt", replace(TWO, shape="kinked", off_kt=0.6), 0.0),
    ("2 kt apart", TWO, 2.0),
    ("2 kt apart, 30 and 30", replace(TWO, aircraft=30), 2.0),
    ("2 kt apart, ragged", RAGGED, 2.0),
)
#: Pairings of one port: name, the plan of each, and how far they are apart, kt.
PAIRINGS: Final = (
    ("", Plan(aircraft=4), (0.0, 0.5, 1.0, 4.0)),
    ("ragged", Plan(aircraft=4, ragged=True, sortie_kt=0.6), (0.0, 1.0)),
    ("wavy 0.3 kt", Plan(aircraft=4, shape="wavy", off_kt=0.3), (1.0,)),
)


def contrast_lines(fleets: int, pool: Executor, first_seed: int, apart: int) -> Iterator[str]:
    """Yield a line for each kind of two groups.

    Args:
        apart: Seeds that a line may use.
    """
    at = ", ".join(f"{speed:.0f}" for speed in LOOKED_AT_KT)
    yield f"two groups: called different, % | band of the difference holds it at {at} kt, %"
    for line, (name, plan, shift_kt) in enumerate(CONTRASTS):
        trial = partial(groups_differ, shift_kt)
        share, error = rates(trial, plan, None, fleets, first_seed + line * apart, pool)
        held = " ".join(f"{100 * s:5.1f}" for s in share[1:])
        yield f"  {name:22}: {100 * share[0]:5.1f} | {held}  (+- {100 * max(error):.1f})"


def pairing_lines(fleets: int, pool: Executor, first_seed: int, apart: int) -> Iterator[str]:
    """Yield a line for each number of pairings of a port, and how far they are apart.

    Args:
        apart: Seeds that a line may use.
    """
    at = ", ".join(f"{speed:.0f}" for speed in LOOKED_AT_KT)
    yield f"pairings of one port, their curves drawn together: band holds at {at} kt, % |"
    yield "  rms error at 100 kt, drawn together and alone, kt | called different, %"
    lines = [
        (name, plan, *how)
        for name, plan, distances in PAIRINGS
        for how in product((3, 5), distances)
    ]
    for line, (name, plan, pairings, apart_kt) in enumerate(lines):
        each = replace(plan, groups=pairings, bend=apart_kt)
        order = None if plan.shape else 1
        share, error = rates(pairings_shrunk, each, order, fleets, first_seed + line * apart, pool)
        held = " ".join(f"{100 * s:5.1f}" for s in share[:3])
        yield (
            f"  {pairings} pairings {apart_kt} kt apart {name:11}: {held} | {share[3] ** 0.5:.2f} "
            f"{share[4] ** 0.5:.2f} | {100 * share[5]:5.1f}  (+- {100 * max(error[:3]):.1f})"
        )
