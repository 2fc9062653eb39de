"""Points and sorties that disagree with their own airframe, and what hangs on them."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.judged_instead import judge_instead, with_points
from fleetcal.fleet.outliers import Verdicts
from fleetcal.fleet.own_agreement import Disagreement, OwnAgreement, own_agreement
from fleetcal.fleet.own_lines import OtherLines
from fleetcal.fleet.points import Index
from fleetcal.services.curves.airframe_verdict import departure_rows, verdict_word
from fleetcal.services.curves.standing_words import numbers_words
from fleetcal.services.curves.type_points import TypePoints, curve_of
from fleetcal.services.field_names import POSITION_ERROR_ONLY, printed
from fleetcal.wording import p_words, percent


@dataclass(frozen=True, kw_only=True)
class OwnFinding:
    """A point, or a sortie, that disagrees with its own airframe.

    Attributes:
        speed_kt, away, u_away: By how much its number differs from what the rest of the airframe
            says.
        adjusted_p_value: Chance, allowing for all {quantity.many} and sorties looked at.
        or_numbers: Points that explain the disagreement nearly as well.
        verdict_without: On the airframe without it; empty where none is possible.
    """

    airframe: str
    group: str = field(metadata=printed("{group}"))
    is_sortie: bool
    numbers: tuple[int, ...] = field(metadata=printed("{numbers}"))
    flown_on: date = field(metadata=printed(only=POSITION_ERROR_ONLY))
    speed_kt: float = field(metadata=printed("{speed}_kt", only=POSITION_ERROR_ONLY))
    away: float = field(metadata=printed("away_{unit}", only=POSITION_ERROR_ONLY))
    u_away: float = field(metadata=printed("u_away_{unit}", only=POSITION_ERROR_ONLY))
    adjusted_p_value: float = field(metadata=printed(only=POSITION_ERROR_ONLY))
    or_numbers: tuple[int, ...] = field(metadata=printed("or_{numbers}", only=POSITION_ERROR_ONLY))
    verdict_without: str = field(metadata=printed(only=POSITION_ERROR_ONLY))
    said: str


def own_findings(
    known: TypePoints,
    verdicts: Verdicts,
    words: list[str],
    others: OtherLines | None = None,
    looked_at: int = 0,
) -> tuple[tuple[OwnFinding, ...], OwnAgreement]:
    """Find what disagrees with its own airframe.

    Args:
        words: Verdict on each member.
        others: Of airframes whose points are not at hand.
        looked_at: Points and sorties of those that were looked at.

    Returns:
        What was found, and what a later look needs of the airframes.
    """
    odd = verdicts.suspects | {i for i, word in enumerate(words) if word == "outside"}
    agreement = own_agreement(
        known.points, verdicts.fit, frozenset(odd), others=others, looked_at=looked_at
    )
    found = agreement.named
    return tuple(_tell(known, verdicts, words[one.found.aircraft], one) for one in found), agreement


def verdict_without(known: TypePoints, verdicts: Verdicts, number: int, gone: Index) -> str:
    """Return the verdict on an airframe without some of its points, empty if none is possible.

    Args:
        number: Of the member.
        gone: Points, as numbered in `known`.
    """
    kept = np.setdiff1d(np.flatnonzero(known.points.aircraft == number), gone)
    if not len(kept) or not np.isfinite(verdicts.adjusted[number]):
        return ""
    version = with_points(known.points, number, kept, verdicts.fit.order)
    try:
        ((standing, adjusted),) = judge_instead(verdicts, number, [version])
    except FitError:
        return ""
    rows = departure_rows(known, verdicts, number, standing, [known.rows[i] for i in kept])
    return verdict_word(rows, standing.p_value, adjusted, known.quantity)


def _tell(known: TypePoints, verdicts: Verdicts, verdict: str, one: Disagreement) -> OwnFinding:
    number, test = one.found.aircraft, one.found
    member = known.members[number]
    rows = [known.rows[i] for i in test.points]
    numbers = tuple(row.number for row in rows)
    others = tuple(known.rows[i].number for group in one.or_these for i in group)
    speed = np.mean(known.speeds_of(rows), keepdims=True)
    here = np.mean([row.y for row in rows], keepdims=True)
    quantity, scale = known.quantity, known.scale
    about = curve_of(verdicts.fit.beta[int(known.points.group_of[number])])
    measured = scale.shown(speed, here, about)
    away = float((measured - scale.shown(speed, here - test.away, about)).item())
    u_away = abs(float((scale.shown(speed, here + test.u_away, about) - measured).item()))
    without = verdict_without(known, verdicts, number, test.points)
    what = f"the sortie of {rows[0].flown_on} ({numbers_words(quantity, numbers)})"
    if not test.is_sortie:
        where = f"({rows[0].flown_on}, {speed.item():.0f} kt)"
        what = f"{numbers_words(quantity, numbers)} {where}"
    maybe = f"; it may as well be {numbers_words(quantity, others)}" if others else ""
    ids = " ".join(str(i) for i in numbers)
    sentence = (
        f"{member.airframe}: {what} disagrees with its own airframe by {quantity.signed(away)} "
        f"(u {quantity.size(u_away)}), which happens by chance in {percent(test.chance)} of cases; "
        f"adjusted p-value, for all {quantity.many} and sorties looked at, "
        f"{p_words(one.adjusted)}{maybe}. "
        f"{_change(verdict, without)}Look at its legs; if "
        f'you find why, {quantity.reject} {ids} --reason "..."'
    )
    return OwnFinding(
        airframe=member.airframe,
        group=str(member.group),
        is_sortie=test.is_sortie,
        numbers=numbers,
        flown_on=rows[0].flown_on,
        speed_kt=speed.item(),
        away=away,
        u_away=u_away,
        adjusted_p_value=one.adjusted,
        or_numbers=others,
        verdict_without=without,
        said=sentence,
    )


def _change(verdict: str, without: str) -> str:
    if not without:
        return ""
    if without == verdict:
        return f"The airframe's verdict is the same without it ({verdict}). "
    return f"The airframe's verdict depends on it: {verdict} with it, {without} without it. "
