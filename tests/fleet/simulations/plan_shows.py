"""Lines about planned sorties: what they are worth, and whether promised chances hold."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from dataclasses import fields
from functools import partial
from itertools import product

import numpy as np

from fleetcal.fleet.points import Array

from .campaign import outcomes
from .flown_plans import FLOWN, Worth, flown_plan, invented
from .invented_fleet import Plan
from .settled_changes import between_sorties, change_foreseen
from .settled_standings import NUMBERS, foreseen

_COUNTS = (2, 4, 6)
_BINS = ((0.0, 0.25), (0.25, 0.5), (0.5, 0.75), (0.75, 1.001))

_NAMES = [field.name for field in fields(Worth)]
_STANDINGS = {
    "ten airframes, any asked about": ("two sorties, slow", False, Plan(aircraft=10)),
    "ten, one that looks odd": ("two sorties, slow to cruise", True, Plan(aircraft=10)),
    "six, one that looks odd": ("two sorties, slow to cruise", True, Plan(aircraft=6)),
    "twenty wide apart, one that looks odd": (
        "two sorties, slow to cruise",
        True,
        Plan(aircraft=20, spread_kt=1.5, point_kt=1.2),
    ),
    "ten, new airframe": ("nothing", False, Plan(aircraft=10, spread_kt=1.5)),
}
#: Not in the sums: the calculation presumes an airframe of its group.
_FAULTY = ("two sorties, slow to cruise", False, Plan(aircraft=10, offsets_kt=(5.0,)))
_CHANGES = {
    "sorties differ by 0.5 kt, none flown after": (0, 0.0, between_sorties(0.5)),
    "0.5 kt, one flown after": (1, 0.0, between_sorties(0.5)),
    "1 kt, two flown after": (2, 0.0, between_sorties(1.0, 1.2)),
}
#: Not in the sums: half of the changes do nothing, which the calculation does not know.
_HALF_NONE = (1, 0.5, between_sorties(0.5))


def gain_lines(fleets: int, pool: Executor, first_seed: int) -> Iterator[str]:
    """Yield what planned sorties are worth against points equally spaced, and their promises."""
    yield "an airframe's own correction after a plan, and after as many equally spaced points"
    yield "order, points, flown before: sorties planned, mean | largest band, half width, kt:"
    yield "  now, after the plan, after equal spacing in one sortie | how many times as much as the"
    yield "  latter is taken off by the plan (+- Monte Carlo), by equal spacing in as many sorties,"
    yield "  by a plan in the most sorties | standard deviation averaged over speeds, equal spacing"
    yield "  in one sortie over plan (+-) | achieved over promised: largest, mean |"
    yield "  promised 95 % bands hold, % (+-)"
    rows: list[Array] = []
    held: list[Array] = []
    for line, (order, flown, count) in enumerate(product((1, 2), FLOWN, _COUNTS)):
        trial = partial(flown_plan, flown, count)
        table = outcomes(trial, invented(order), order, fleets, first_seed + line * 1_000_000, pool)
        told = dict(zip(_NAMES, table.T, strict=True))
        held.append(told["held"])
        values, error = worth_of(table)
        rows.append(values)
        kt = [1.96 * np.median(told[name]) for name in ("before", "largest", "equal")]
        yield (
            f"  {order}, {count}, {flown:30}: {np.mean(told['sorties']):.1f} | "
            f"{' '.join(f'{k:.2f}' for k in kt)} | {values[0]:.2f} +- {error[0]:.2f}, "
            f"{values[1]:.2f}, {values[2]:.2f} | {values[3]:.2f} +- {error[3]:.2f} | "
            f"{values[4]:.2f}, {values[5]:.2f} | {100 * values[6]:.1f} +- {100 * error[6]:.1f}"
        )
    every_line = [(flown, count) for _, flown, count in product((1, 2), FLOWN, _COUNTS)]
    for name in (*FLOWN, *_COUNTS):
        mine = [row for row, line in zip(rows, every_line, strict=True) if name in line]
        yield f"  {name}{' points' * (name in _COUNTS)}: {_medians(np.array(mine))}"
    yield f"  all lines: {_medians(np.array(rows))}"
    every = np.concatenate(held)
    error = np.std(every) / np.sqrt(len(every))
    yield f"  promised bands of all lines hold {100 * np.mean(every):.1f} +- {100 * error:.1f} %"


def worth_of(table: Array) -> tuple[Array, Array]:
    """Return the seven figures of a line, and their errors by drawing fleets again.

    Args:
        table (fleets, values): Of `flown_plan`.
    """

    def figures(rows: Array) -> Array:
        of = dict(zip(_NAMES, rows.T, strict=True))
        m = {name: float(np.median(column)) for name, column in of.items()}
        return np.array(
            [
                (m["before"] - m["largest"]) / (m["before"] - m["equal"]),
                (m["before"] - m["split"]) / (m["before"] - m["equal"]),
                (m["before"] - m["most"]) / (m["before"] - m["equal"]),
                np.median(of["mean_equal"] / of["mean"]),
                np.median(of["largest"] / of["promised"]),
                m["reached"],
                np.mean(of["held"]),
            ]
        )

    rng, count = np.random.default_rng(1), len(table)
    again = [figures(table[rng.integers(0, count, count)]) for _ in range(200)]
    return figures(table), np.std(again, axis=0)


def _medians(rows: Array) -> str:
    m = np.median(rows, axis=0)
    return (
        f"medians of lines: {m[0]:.2f}, {m[1]:.2f}, {m[2]:.2f} times as much off | mean deviation "
        f"{m[3]:.2f} | achieved over promised {m[4]:.2f}, {m[5]:.2f}"
    )


def standing_lines(fleets: int, pool: Executor, first_seed: int) -> Iterator[str]:
    """Yield whether promised chances of a settled verdict hold."""
    yield _calibration_heading("verdict on an airframe")
    together = []
    for line, (name, (flown, odd, plan)) in enumerate(_STANDINGS.items()):
        trial = partial(foreseen, flown, odd)
        told = outcomes(trial, plan, 1, fleets, first_seed + line * 1_000_000, pool)
        together.append(told)
        yield from _kept(name, told)
    yield from _kept("all of these", np.vstack(together), "by bin: ")
    flown, odd, plan = _FAULTY
    trial = partial(foreseen, flown, odd)
    told = outcomes(trial, plan, 1, fleets, first_seed + 20_000_000, pool)
    yield from _kept("5 kt off by a fault, not in the sums", told)


def change_lines(fleets: int, pool: Executor, first_seed: int) -> Iterator[str]:
    """Yield whether promised chances of telling what a change did hold."""
    yield _calibration_heading("change of equipment")
    together = []
    for line, (name, (after, none_in, plan)) in enumerate(_CHANGES.items()):
        trial = partial(change_foreseen, after, none_in)
        told = outcomes(trial, plan, 1, fleets, first_seed + line * 1_000_000, pool)
        together.append(told)
        yield from _kept(name, told)
    yield from _kept("all of these", np.vstack(together), "by bin: ")
    after, none_in, plan = _HALF_NONE
    trial = partial(change_foreseen, after, none_in)
    told = outcomes(trial, plan, 1, fleets, first_seed + 20_000_000, pool)
    yield from _kept("half of the changes do nothing, not in the sums", told)


def _calibration_heading(what: str) -> str:
    return (
        f"{what}, settled after {', '.join(map(str, NUMBERS))} planned sorties: chance promised > "
        "share that was, % (outcomes) +- Monte Carlo; bins of promise 0-25-50-75-100 %"
    )


def _kept(name: str, told: Array, intro: str = "") -> Iterator[str]:
    """Yield promise against outcome: over all, and in bins of the promise."""
    for what, first in (("settled", 0), ("outside or found", 2)):
        promised, happened = told[:, first::4], told[:, first + 1 :: 4]
        cells = [_cell(promised.ravel(), happened.ravel(), told.shape[0])]
        for low, high in _BINS:
            chosen = (promised >= low) & (promised < high)
            fleets = int(np.any(chosen, axis=1).sum())
            cells.append(_cell(promised[chosen], happened[chosen], fleets))
        yield f"  {intro}{name}, {what}: {cells[0]} | {' | '.join(cells[1:])}"


def _cell(promised: Array, happened: Array, fleets: int) -> str:
    """Return promise, outcome and error; outcomes of one fleet are not independent."""
    if not len(promised):
        return "-"
    share = float(np.mean(happened))
    error = np.sqrt(max(share * (1.0 - share), 0.25 / fleets) / fleets)
    told = f"{100.0 * np.mean(promised):.0f} > {100.0 * share:.0f}"
    return f"{told} ({len(promised)}) +- {100.0 * error:.0f}"
