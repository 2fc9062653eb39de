"""How often a group is called two that is one, and how often one that is two."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from typing import Final

import numpy as np

from fleetcal.fleet.clusters import two_clusters
from fleetcal.fleet.sums import aircraft_sums

from .campaign import rates
from .invented_fleet import Plan, draw

KINDS: Final = (
    *((f"one group of {count}", Plan(aircraft=count)) for count in (6, 10, 30)),
    ("one of 12, ragged", Plan(aircraft=12, ragged=True)),
    ("one of 12, heavy tails", Plan(aircraft=12, tails="heavy")),
    ("one of 12, skewed", Plan(aircraft=12, tails="skewed")),
    ("one odd of 10, 5 kt off", Plan(aircraft=10, offsets_kt=(5.0,))),
    ("two of 5, 4 kt apart", Plan(aircraft=10, offsets_kt=(4.0,) * 5)),
    ("two of 5, 6 kt apart", Plan(aircraft=10, offsets_kt=(6.0,) * 5)),
    ("3 and 9, 6 kt apart", Plan(aircraft=12, offsets_kt=(6.0,) * 3)),
    ("two of 10, 4 kt apart", Plan(aircraft=20, offsets_kt=(4.0,) * 10)),
)


def called_two(plan: Plan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return 1 if a group is called two."""
    sums = aircraft_sums(draw(plan, np.random.default_rng(seed)))
    return (float(bool(two_clusters(sums.with_order(2 if order is None else order)))),)


def cluster_lines(fleets: int, pool: Executor, first_seed: int, apart: int) -> Iterator[str]:
    """Yield a line for each kind of group.

    Args:
        apart: Seeds that a line may use.
    """
    yield "called two groups in one, %"
    for line, (name, plan) in enumerate(KINDS):
        share, error = rates(called_two, plan, None, fleets, first_seed + line * apart, pool)
        yield f"  {name:24}: {100 * share[0]:5.1f}  (+- {100 * error[0]:.1f})"
