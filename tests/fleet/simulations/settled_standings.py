"""Whether promised chances of a settled verdict hold: promise, fly, judge the whole fleet anew."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from fleetcal.fleet.basis import MIDDLE_X
from fleetcal.fleet.foreseen_standing import (
    PlannedSortie,
    Question,
    foresee_standing,
    settled,
)
from fleetcal.fleet.outliers import Verdicts, judge_fleet
from fleetcal.fleet.points import Array
from fleetcal.fleet.standing import Departures
from fleetcal.fleet.usual_sortie import sortie_information
from fleetcal.services.curves.usual_spread import UsualSpread

from .flown_plans import FLOWN, KNOTS_FOR_KAPPA, PERMITTED_KT, fleet_with, fly, planned_speeds
from .invented_fleet import KAPPA_PER_KT, Plan, lift_at

NUMBERS = (1, 2, 4)
#: What the program supposes of the spread.
KNOWN = UsualSpread().known
SMALLEST_KT, LEVEL = 2.0, 0.05
#: p-value below which an airframe is asked about.
LOOKS_ODD = 0.2
_POINTS, _DRAWS, _MOST_DRAWN = 4, 200, 60


def foreseen(
    flown: str, odd_only: bool, plan: Plan, order: int | None, seed: int
) -> tuple[float, ...]:
    """Return promised chance and what happened, 0 or 1, for each of `NUMBERS`: settled, outside.

    Four values a number: settled promised, settled, outside promised, outside. With
    `odd_only` the airframe is one that somebody would ask about: its p-value is below
    `LOOKS_ODD` when the sorties are planned. `plan.offsets_kt` moves it, as a fault would.
    """
    rng = np.random.default_rng(seed)
    has_flown = bool(FLOWN[flown])
    for _ in range(_MOST_DRAWN):
        own = rng.multivariate_normal(np.zeros(2), plan.spread)
        own[0] += KAPPA_PER_KT * sum(plan.offsets_kt)
        points, curve = fleet_with(replace(plan, offsets_kt=()), flown, rng, own)
        verdicts = judge_fleet(points, LEVEL, order, KNOWN)
        if not odd_only or verdicts.standings[0].p_value < LOOKS_ODD:
            break
    (speeds,), _ = planned_speeds(verdicts.fit, points, has_flown, _POINTS)
    sortie = planned_sortie(plan, speeds, verdicts.fit.order)
    question = _question(flown, speeds)
    aircraft = 0 if has_flown else None
    promised = foresee_standing(
        verdicts, 0, aircraft, sortie, question, NUMBERS, _DRAWS, np.random.default_rng(seed)
    )
    told: list[float] = []
    for number in range(1, max(NUMBERS) + 1):
        new = number == 1 and not has_flown
        points = fly(points, plan, curve, np.sort(speeds), -9 - number, rng, new=new)
        if number in NUMBERS:
            after = judge_fleet(points, LEVEL, verdicts.fit.order, KNOWN)
            chances = promised[NUMBERS.index(number)]
            for chance, happened in zip(chances, _what_happened(after, question), strict=True):
                told += [float(chance), happened]
    return tuple(told)


def planned_sortie(plan: Plan, speeds: Array, order: int) -> PlannedSortie:
    """Return what a sortie at some speeds tells."""
    lift, shared = lift_at(speeds), KAPPA_PER_KT * plan.sortie_kt
    information = sortie_information(lift[None], order, 2.0 * plan.point_kt / speeds, shared)[0]
    t = lift - MIDDLE_X
    return PlannedSortie(information, (float(t.min()), float(t.max())))


def _question(flown: str, speeds: Array) -> Question:
    """Return the question over the speeds that the aircraft will have flown."""
    every = [*speeds, *(speed for sortie in FLOWN[flown] for speed in sortie)]
    asked = (min(every) <= PERMITTED_KT) & (max(every) >= PERMITTED_KT)
    return Question(lift_at(PERMITTED_KT[asked]), KNOTS_FOR_KAPPA[asked], SMALLEST_KT, LEVEL)


def _what_happened(after: Verdicts, question: Question) -> Iterator[float]:
    one = after.standings[0]
    found = Departures(
        one.departure[None],
        one.covariance[None],
        np.array([one.ratio]),
        np.array([one.p_value]),
    )
    for said in settled(question, found, after.adjusted[:1]):
        yield float(said[0])
