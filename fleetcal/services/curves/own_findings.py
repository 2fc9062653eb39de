"""Points and sorties that disagree with their own airframe, and what hangs on them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.judged_instead import judge_instead, with_points
from fleetcal.fleet.outliers import Verdicts
from fleetcal.fleet.own_agreement import Disagreement, OwnAgreement, own_agreement
from fleetcal.fleet.own_lines import OtherLines
from fleetcal.fleet.points import Index
from fleetcal.services.curves.airframe_verdict import departure_rows, verdict_word
from fleetcal.services.curves.groups import TypePoints
from fleetcal.services.curves.speed_grid import ias_at_weight
from fleetcal.services.curves.standing_words import numbers_words
from fleetcal.wording import p_words, percent


@dataclass(frozen=True, kw_only=True)
class OwnFinding:
    """A point, or a sortie, that disagrees with its own airframe.

    Attributes:
        ias_kt, away_kt, u_away_kt: By how much its correction differs from what the rest of the
            airframe says.
        adjusted_p_value: Chance, allowing for all points and sorties looked at.
        or_point_ids: Points that explain the disagreement nearly as well.
        verdict_without: On the airframe without it; empty where none is possible.
    """

    airframe: str
    group: str
    is_sortie: bool
    point_ids: tuple[int, ...]
    flown_on: date
    ias_kt: float
    away_kt: float
    u_away_kt: float
    adjusted_p_value: float
    or_point_ids: tuple[int, ...]
    verdict_without: str
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
    ids = tuple(row.point_id for row in rows)
    others = tuple(known.rows[i].point_id for group in one.or_these for i in group)
    weight = known.type.reference_weight_kg
    ias = float(np.mean([ias_at_weight(row, weight) for row in rows]))
    here = np.asarray(np.mean([row.kappa for row in rows]))
    speed = np.asarray(ias)
    told = known.quantity
    measured = told.convert(speed, here)
    away = float((measured - told.convert(speed, here - test.away)).item())
    u_away = abs(float((told.convert(speed, here + test.u_away) - measured).item()))
    without = verdict_without(known, verdicts, number, test.points)
    what = f"the sortie of {rows[0].flown_on} ({numbers_words(ids)})"
    what = what if test.is_sortie else f"{numbers_words(ids)} ({rows[0].flown_on}, {ias:.0f} kt)"
    maybe = f"; it may as well be {numbers_words(others)}" if others else ""
    numbers = " ".join(str(i) for i in ids)
    said = (
        f"{member.airframe}: {what} disagrees with its own airframe by {told.signed(away)} "
        f"(u {told.size(u_away)}), as far by chance in {percent(test.chance)} of cases; adjusted "
        f"p-value, for all points and sorties looked at, {p_words(one.adjusted)}{maybe}. "
        f"{_change(verdict, without)}Look at its legs; if "
        f'you find why, {told.reject} {numbers} --reason "..."'
    )
    return OwnFinding(
        airframe=member.airframe,
        group=str(member.group),
        is_sortie=test.is_sortie,
        point_ids=ids,
        flown_on=rows[0].flown_on,
        ias_kt=ias,
        away_kt=away,
        u_away_kt=u_away,
        adjusted_p_value=one.adjusted,
        or_point_ids=others,
        verdict_without=without,
        said=said,
    )


def _change(verdict: str, without: str) -> str:
    if not without:
        return ""
    if without == verdict:
        return f"The airframe's verdict is the same without it ({verdict}). "
    return f"The airframe's verdict hangs on it: {verdict} with it, {without} without it. "
