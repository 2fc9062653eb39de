"""Lines about planned sorties: what they are worth, and whether promised chances hold."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from functools import partial
from itertools import product

import numpy as np

from fleetcal.fleet.points import Array

from .campaign import outcomes
from .flown_plans import FLOWN, invented, shrunk
from .invented_fleet import Plan
from .settled_changes import between_sorties, change_foreseen
from .settled_standings import NUMBERS, foreseen

_COUNTS = (2, 3, 4, 6)
_BINS = ((0.0, 0.25), (0.25, 0.5), (0.5, 0.75), (0.75, 1.001))

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
    """Yield by how much more a planned sortie shrinks the largest band."""
    yield "largest band of an airframe's own correction, half width in kt, medians over fleets:"
    yield "order, points, flown before: now, after plan (promised), after equal spacing |"
    yield "  reduction by the plan over that by equal spacing, of the medians (+- Monte Carlo) |"
    yield "  median of each fleet's own ratio | mean width after the plan over equal spacing"
    ratios = []
    for line, (order, flown, count) in enumerate(product((1, 2), FLOWN, _COUNTS)):
        trial = partial(shrunk, flown, count)
        told = outcomes(trial, invented(order), order, fleets, first_seed + line * 1_000_000, pool)
        before, planned, equal, promised, elsewhere = np.median(told, axis=0)
        ratio, error = ratio_of_reductions(told)
        each = np.median((told[:, 0] - told[:, 1]) / np.maximum(told[:, 0] - told[:, 2], 1e-3))
        ratios.append((flown, ratio))
        yield (
            f"  {order}, {count}, {flown:30}: {before:.2f} {planned:.2f} ({promised:.2f}) "
            f"{equal:.2f} | {ratio:.2f} +- {error:.2f} | {each:.2f} | {elsewhere:.2f}"
        )
    for name in FLOWN:
        mine = [ratio for flown, ratio in ratios if flown == name]
        yield f"  {name}: median ratio of its lines {np.median(mine):.2f}"
    yield f"  median ratio of all lines {np.median([ratio for _, ratio in ratios]):.2f}"


def ratio_of_reductions(told: Array) -> tuple[float, float]:
    """Return the ratio of median reductions, and its error by drawing fleets again."""

    def ratio(rows: Array) -> float:
        before, planned, equal = np.median(rows[:, :3], axis=0)
        return float((before - planned) / (before - equal))

    rng = np.random.default_rng(len(told))
    again = [ratio(told[rng.integers(0, len(told), len(told))]) for _ in range(200)]
    return ratio(told), float(np.std(again))


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
