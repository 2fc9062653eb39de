"""The runs of a flight judged together: one air that they all flew in.

A run is not accepted only if its wind (4 kt) or its spare legs (3 kt) are far off and that
is improbable after what the other runs show. Where most runs agree they alone are the
measure, so that two typing errors hide nothing. Runs more than 300 m apart in height are
not compared.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fleetcal.airdata.budget import Assumptions, run_air
from fleetcal.airdata.sortie_air import RunAir, SortieAir
from fleetcal.airdata.weigh_air import chance_of_joining, weigh_air
from fleetcal.services.flights.solve_run import RunSolution
from fleetcal.units import MPS_PER_KT

#: A wind that changes by more than this in ten minutes is told, kt.
CHANGING_KT: Final = 2.0
#: A run may not join the others from this distance of its wind on, kt.
JUMP_KT: Final = 4.0
#: Spare legs of a run may not join the others from so many times what was supposed on, and
#: from so many knots: less is the air's doing, which widens the uncertainty.
LARGEST_DISAGREEMENT: Final = 4.0
LARGEST_DISAGREEMENT_KT: Final = 3.0
#: Chance of a sound run being called one that does not join, shared out among the runs.
CHANCE: Final = 0.01
#: Winds further apart in height than this are not compared, m.
_SAME_HEIGHT_M: Final = 300.0
#: Legs are supposed to be flown one each minute and a half where a sheet tells no times.
_LEG_EVERY_S: Final = 90.0


@dataclass(frozen=True)
class SortieWind:
    """What the runs of a flight show of the wind.

    Attributes:
        air: By the runs that join each other.
        doubts: Why a run does not join the others, by its number.
    """

    air: SortieAir
    doubts: dict[int, str]


def sortie_wind(runs: Sequence[RunSolution], assumptions: Assumptions) -> SortieWind:
    """Weigh the wind of a flight from all its runs.

    Args:
        runs: At least one.
    """
    left, doubts = _on_one_clock(runs, assumptions), dict[int, str]()
    while True:
        worst = _least_joining(left, assumptions)
        if worst is None:
            break
        number, why = worst
        doubts[number] = why
        if len(left) == 1:
            break
        del left[number]
    air = weigh_air(list(left.values()), assumptions.prior_weight, assumptions.u_wind_drift_mps2)
    return SortieWind(air, dict(sorted(doubts.items())))


def wind_sentences(wind: SortieWind) -> tuple[str, ...]:
    """Say that the wind changed, and which runs do not join.

    Returns:
        Empty where the wind was steady.
    """
    air = wind.air
    change = f"changed steadily by {air.drift_kt:.1f} kt"
    if air.drift_kt <= CHANGING_KT:
        change = f"wandered by {air.wander_kt:.1f} kt"
    changing = max(air.drift_kt, air.wander_kt) > CHANGING_KT
    change_words = (
        f"the wind {change} in ten minutes, which widens the uncertainty of every run; for better "
        "points fly in calmer air, or alternate the order of the legs from run to run",
    )
    return (*(change_words if changing else ()), *wind.doubts.values())


def _on_one_clock(runs: Sequence[RunSolution], assumptions: Assumptions) -> dict[int, RunAir]:
    airs = {run.number: run_air(run.data, run.solution, 0, assumptions) for run in runs}
    if all(run.started_s is not None for run in runs):
        return airs
    first = 0
    for number, run in airs.items():
        count = len(run.middle_s)
        middle = np.asarray(_LEG_EVERY_S * np.arange(first, first + count))
        airs[number] = replace(run, middle_s=middle)
        first += count
    return airs


def _least_joining(left: dict[int, RunAir], assumptions: Assumptions) -> tuple[int, str] | None:
    """Return the run that is least like the others, with the reason; None if all join."""
    apart = {number: _why_apart(left, number, _near(left, number)) for number in left}
    found = []
    for number, why in apart.items():
        if not why:
            continue
        near = _near(left, number)
        joining = [n for n in near if not apart[n] or _apart_kt(left[n], left[number]) < JUMP_KT]
        if 2 * len(joining) > len(near) + 1:  # most runs agree, so two odd ones hide nothing
            near = joining
        chance = 0.0  # a run alone has nothing to explain it
        if len(near) > 1:
            chance = len(left) * chance_of_joining(
                [left[n] for n in near],
                near.index(number),
                assumptions.prior_weight,
                assumptions.u_wind_drift_mps2,
            )
        if chance <= CHANCE:
            found.append((chance, number, why))
    if not found:
        return None
    _, number, why = min(found)
    return number, why


def _apart_kt(one: RunAir, other: RunAir) -> float:
    return float(np.hypot(*(one.wind_mps - other.wind_mps))) / MPS_PER_KT


def _near(left: dict[int, RunAir], number: int) -> list[int]:
    height = left[number].altitude_m
    return [n for n, run in left.items() if abs(run.altitude_m - height) <= _SAME_HEIGHT_M]


def _why_apart(left: dict[int, RunAir], number: int, near: list[int]) -> str:
    """Return what is unlike the other runs and large; empty if nothing is."""
    run = left[number]
    others = np.array([left[n].wind_mps for n in near if n != number])
    if len(others) > 1:  # of two nobody can tell which is wrong
        apart = np.hypot(*(run.wind_mps - np.median(others, axis=0))) / MPS_PER_KT
        if apart >= JUMP_KT:
            return (
                f"the wind of run {number} jumps: it is {apart:.0f} kt from that of the other "
                "runs; look for a typing error in its legs, or a leg flown in other air"
            )
    spare = len(run.residual_mps) - 3
    if spare <= 0:
        return ""
    residual = float(np.sqrt(np.sum(run.residual_mps**2) / spare)) / MPS_PER_KT
    supposed = run.supposed_mps / MPS_PER_KT
    if residual <= max(LARGEST_DISAGREEMENT * supposed, LARGEST_DISAGREEMENT_KT):
        return ""
    return (
        f"spare legs disagree by {residual:.1f} kt in run {number} where {supposed:.1f} kt is to "
        "be expected: the wind changed, or a leg is bad"
    )
