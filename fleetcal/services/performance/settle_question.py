"""How many planned sorties would settle a question, each number with its chance.

Settled is a verdict of outside, or of inside with the departure known to 2 kt; a change is
settled when it is found or its whole band lies within 2 kt.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import FitError
from fleetcal.fleet.basis import MIDDLE_X, curve_basis
from fleetcal.fleet.contrast import contrast
from fleetcal.fleet.foreseen_change import covariance_after, foresee_change, settled_change
from fleetcal.fleet.foreseen_standing import PlannedSortie, Question, foresee_standing
from fleetcal.fleet.pooled import PooledFit
from fleetcal.fleet.standing import FEWEST_FOR_VERDICT
from fleetcal.fleet.usual_sortie import sortie_information
from fleetcal.services.curves.airframe_verdict import FAMILY_LEVEL
from fleetcal.services.curves.change_of_airframe import ChangedAirframe, fit_sides
from fleetcal.services.curves.check_change import change_so_far
from fleetcal.services.curves.compare_curves import LEVEL, speeds_of_both
from fleetcal.services.curves.judge_airframes import judge_known
from fleetcal.services.curves.position_error import POSITION_ERROR
from fleetcal.services.curves.quantity import PoolRequest, ReadPoints
from fleetcal.services.curves.speed_grid import (
    knots_for_each_kappa,
    round_speeds,
)
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.store import Store

QUESTIONS: Final = ("standing", "change")
MOST_SORTIES: Final = 12
_DRAWS: Final = 400
_SEED: Final = 20_230_401
_CHANCE_ENOUGH: Final = 0.8
_SMALLEST_KT: Final = POSITION_ERROR.smallest


@dataclass(frozen=True)
class SettledChance:
    """Chances after so many planned sorties, in percent.

    `shown_percent` is that of `outside` for a standing, of `found` for a change; it
    is part of `settled_percent`.
    """

    sorties: int
    settled_percent: float
    shown_percent: float


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """What more sorties would do for a question.

    Attributes:
        question: ``standing`` or ``change``.
        asked: In words.
        now: What is known today.
        answer: The least number of sorties with a chance of 80 %.
    """

    question: str
    asked: str
    settled_means: str
    now: str
    answer: str
    rows: tuple[SettledChance, ...]


@dataclass(frozen=True)
class Design:
    """The planned points of one sortie.

    Attributes:
        ias_kt (n,): At the planned weight, repeated speeds as often as they are flown.
        lift, u_own: Shape (n,).
        u_shared (n, terms): Uncertainties as stated, before any factor on the variances.
    """

    ias_kt: Array
    lift: Array
    u_own: Array
    u_shared: Array

    def sortie(self, order: int) -> PlannedSortie:
        """Return what a sortie tells of a curve of an order."""
        information = sortie_information(self.lift[None], order, self.u_own, self.u_shared)[0]
        t = self.lift - MIDDLE_X
        return PlannedSortie(information, (float(t.min()), float(t.max())))


def standing_outlook(
    known: TypePoints, tag: str, group: int, place: int | None, design: Design
) -> Outlook:
    """Tell how many sorties would settle whether an airframe stands inside its group.

    Args:
        place: Number of the member; None without points.

    Raises:
        FitError: If the group has too few other airframes for a verdict.
    """
    verdicts, judged = judge_known(known)
    own = [] if place is None else known.rows_of_member(place)
    every = [*known.scale.speed_at(design.lift), *known.speeds_of(own)]
    question = _question(round_speeds(min(every), max(every)), known, verdicts.fit.beta[group])
    chances = foresee_standing(
        verdicts,
        group,
        place,
        sortie=design.sortie(verdicts.fit.order),
        question=question,
        numbers=range(1, MOST_SORTIES + 1),
        draws=_DRAWS,
        rng=np.random.default_rng(_SEED),
    )
    if not np.isfinite(chances).all():
        raise FitError(
            f"{known.groups[group]}: too few other airframes for a verdict on {tag}",
            f"a verdict needs {FEWEST_FOR_VERDICT - 1}; fly others of the group first",
        )
    now, settled = "nothing accepted was flown yet", False
    if place is not None and judged[place].largest_departure is not None:
        half = judged[place].half_band
        word = judged[place].verdict
        now = f"{word}, the departure known to ±{half:.1f} kt over the speeds it flew"
        settled = word == "outside" or (word == "inside" and half <= _SMALLEST_KT)
    return Outlook(
        question="standing",
        asked=f"does {tag} stand inside its group or outside?",
        settled_means="the verdict is outside, or it is inside with the departure known to "
        f"±{_SMALLEST_KT:.0f} kt or better at all speeds flown",
        now=now,
        answer=_answer(chances, settled),
        rows=_rows(chances),
    )


@dataclass(frozen=True)
class KnownChange:
    """What is known of the last change of an airframe.

    Attributes:
        changed: Its second side may be empty.
        fit: Before is its first group, after the second if anything was flown.
    """

    read: ReadPoints
    changed: ChangedAirframe
    fit: PooledFit

    @property
    def after(self) -> int | None:
        """Group of the points after the change."""
        return 1 if self.changed.sides[1] else None

    @property
    def covariance(self) -> Array:
        """What is not known of the curve after it."""
        return covariance_after(self.fit, 0, self.after)


def known_change(store: Store, tag: str, flap_setting: str) -> KnownChange:
    """Return what is known of the last change of an airframe.

    Raises:
        FitError: If nothing was flown before, or nothing tells how much sorties differ.
    """
    request = PoolRequest(quantity=POSITION_ERROR, flap_setting=flap_setting)
    read, changed, repeated = change_so_far(store, tag, request)
    fit, _, _ = fit_sides(read, tag, [changed], repeated)
    return KnownChange(read, changed, fit)


def change_outlook(known: KnownChange, design: Design) -> Outlook:
    """Tell how many sorties after a change would settle what it did.

    Raises:
        FitError: If the two sides share no speed, or the points determine no curve.
    """
    read, changed, fit = known.read, known.changed, known.fit
    tag, (before, after) = changed.tag, changed.sides
    speeds = speeds_of_both(read, before, after or before)
    if not len(speeds):
        raise FitError(f"{tag}: the two sides share no speed", "fly one at the other's speeds")
    lift = read.scale.x_at(speeds)
    knots = knots_for_each_kappa(speeds, curve_basis(lift, fit.order) @ fit.beta[0])
    question = Question(lift, knots, _SMALLEST_KT, LEVEL)
    chances = foresee_change(
        fit,
        0,
        known.after,
        sortie=design.sortie(fit.order),
        question=question,
        numbers=range(1, MOST_SORTIES + 1),
        draws=_DRAWS // 2,
        rng=np.random.default_rng(_SEED),
    )
    now, settled = f"nothing was flown with {changed.names[1]}", 0.0
    if after:
        found = contrast(fit, 0, 1)
        settled, shown = settled_change(question, found.weight, found.difference, found.covariance)
        now = "found" if shown else "shown to be too small to count" if settled else "not known yet"
    return Outlook(
        question="change",
        asked=f"did the change of {tag} matter: {changed.names[0]}, then {changed.names[1]}?",
        settled_means="a change is found, or the whole 95 % band of the change lies within "
        f"±{_SMALLEST_KT:.0f} kt at all speeds flown",
        now=now,
        answer=_answer(chances, bool(settled)),
        rows=_rows(chances),
    )


def _question(speeds: Array, known: TypePoints, curve: Array) -> Question:
    lift = known.scale.x_at(speeds)
    knots = knots_for_each_kappa(speeds, curve_basis(lift, len(curve) - 1) @ curve)
    return Question(lift, knots, _SMALLEST_KT, FAMILY_LEVEL)


def _rows(chances: Array) -> tuple[SettledChance, ...]:
    return tuple(
        SettledChance(number, 100.0 * float(settled), 100.0 * float(shown))
        for number, (settled, shown) in enumerate(chances, 1)
    )


def _answer(chances: Array, settled: bool) -> str:
    if settled:
        return "It is settled already; more sorties need not be flown for it"
    enough = np.flatnonzero(chances[:, 0] >= _CHANCE_ENOUGH)
    if len(enough):
        number = int(enough[0]) + 1
        sorties, settle = ("sortie", "settles") if number == 1 else ("sorties", "settle")
        return (
            f"{number} {sorties} like the planned one {settle} it with a chance of "
            f"{100.0 * chances[enough[0], 0]:.0f} %"
        )
    return (
        f"{MOST_SORTIES} sorties like the planned one settle it with a chance of only "
        f"{100.0 * chances[-1, 0]:.0f} %: it depends also on what others flew"
    )
