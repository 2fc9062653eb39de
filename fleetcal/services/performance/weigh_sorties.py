"""Over how many sorties the runs of a plan are best split, and what ordinary flights would do.

A sortie costs a take-off, a warm-up, often another day; what that is worth is the owner's to say.
So every way is shown with the band that it leaves. One is proposed: another sortie where it takes
at least a tenth more off the largest band, and 0.05 kt at least. That is judgement, no published
source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import ImplausibleError
from fleetcal.fleet.next_points import PlannedPoints, PointsToPlan, split_evenly
from fleetcal.services.performance.plan_basis import PlanBasis
from fleetcal.services.performance.plan_values import SortiesWeighed

MOST_SORTIES: Final = 3
_FEWEST_RUNS: Final = 2
#: What another sortie must do: a tenth more than the sorties before it, and that in knots.
_WORTH_SHARE: Final = 0.1
_WORTH_KT: Final = 0.05


@dataclass(frozen=True, kw_only=True)
class ChosenSorties:
    """The sorties that are proposed, and the ways that were weighed.

    Attributes:
        equal (speeds,): Standard deviation after as many points of one sortie, equally spaced.
    """

    plan: PlannedPoints
    sorties: int
    weighed: tuple[SortiesWeighed, ...]
    equal: Array


def weigh_sorties(basis: PlanBasis, count: int, sorties: int | None) -> ChosenSorties:
    """Plan some points in one sortie and in several, and choose.

    Args:
        sorties: Chosen by somebody; by the rule if None.

    Raises:
        ImplausibleError: If there are fewer points than sorties.
    """
    if sorties is not None and sorties > count:
        raise ImplausibleError(
            f"{count} runs cannot be split over {sorties} sorties", "ask for more --points"
        )
    most = max(sorties or 1, min(MOST_SORTIES, count // _FEWEST_RUNS))
    plans = [plan_of(basis, count, number) for number in range(1, most + 1)]
    half = basis.half_kt
    left = [float(np.max(half * plan.after[-1])) for plan in plans]
    number = sorties or proposed(float(np.max(half * plans[0].before)), left)
    return ChosenSorties(
        plan=plans[number - 1],
        sorties=number,
        weighed=tuple(
            SortiesWeighed(
                sorties=place,
                runs=split_evenly(count, place),
                largest_after_kt=after,
                proposed=place == number,
            )
            for place, after in enumerate(left, 1)
        ),
        equal=_equally_spaced(basis, count),
    )


def plan_of(basis: PlanBasis, count: int, sorties: int = 1) -> PlannedPoints:
    """Plan so many runs split over so many sorties."""
    flight = basis.flight(basis.speeds)
    return basis.curve.plan(
        PointsToPlan(
            scale=basis.half_kt,
            u_own=flight.u_own,
            u_shared=flight.u_shared,
            count=count,
            sorties=sorties,
        )
    )


def proposed(now_kt: float, left_kt: list[float]) -> int:
    """Return how many sorties are proposed, by the largest bands that 1, 2, ... leave."""
    number = 1
    for place, left in enumerate(left_kt[1:], 2):
        before = left_kt[number - 1]
        if before - left >= max(_WORTH_SHARE * (now_kt - before), _WORTH_KT):
            number = place
    return number


def _equally_spaced(basis: PlanBasis, count: int) -> Array:
    speeds = basis.speeds
    spaced = np.linspace(speeds[0], speeds[-1], count) if count > 1 else np.array([speeds.mean()])
    return basis.curve.deviation([basis.flight(spaced)])
