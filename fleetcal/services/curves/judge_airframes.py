"""Where airframes stand against their groups, in numbers and in words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.outliers import Verdicts, judge_fleet
from fleetcal.services.curves.airframe_verdict import (
    FAMILY_LEVEL,
    AirframeVerdict,
    tell_verdicts,
)
from fleetcal.services.curves.count_reasons import count_reasons
from fleetcal.services.curves.group_name import GroupName, Member
from fleetcal.services.curves.groups import gather_group, of_type_of
from fleetcal.services.curves.judge_from_kept import judge_from_kept, keep_judged, read_mark
from fleetcal.services.curves.judgement import Judgement, judged
from fleetcal.services.curves.once import once
from fleetcal.services.curves.own_findings import own_findings
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.services.curves.position_error import POSITION_ERROR
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.curves.second_standing import second_words
from fleetcal.services.curves.set_aside import (
    SET_ASIDE,
    extended,
    judge_set_aside,
    rows_set_aside,
)
from fleetcal.services.curves.standing_detail import standing_detail
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.store import Store

if TYPE_CHECKING:
    from fleetcal.services.curves.draw_standing import StandingOutlet


def judge_airframes(store: Store, request: PoolRequest, group: str | None = None) -> Judgement:
    """Judge every airframe of a type against its group.

    Args:
        group: Show only this group; all are fitted together, for the spread.

    Raises:
        FitError: If no group has enough airframes.
    """
    return _judge(store, request, group, None).judgement


@dataclass(frozen=True)
class _Judged:
    """A judgement, what it tells of, and the points of those that are set aside."""

    judgement: Judgement
    known: TypePoints
    verdicts: Verdicts
    aside: dict[Member, list[PooledPoint]]


def _judge(store: Store, request: PoolRequest, group: str | None, tag: str | None) -> _Judged:
    # first: what changes meanwhile is then read again
    mark = read_mark(store) if request.quantity is POSITION_ERROR else None
    known, shown = gather_group(store, request, group)
    keep = None
    if mark is not None and (shown is None or shown.engine is not None):
        keep = partial(keep_judged, store, mark, known)
    aside, left_out = _not_judged(known, shown, tag)
    judgement, verdicts = _judgement(known, shown, left_out, keep)
    apart = judge_set_aside(known, verdicts, aside)
    judgement = replace(judgement, airframes=(*apart, *judgement.airframes))
    return _Judged(judgement, known, verdicts, aside)


def _judgement(
    known: TypePoints,
    group: GroupName | None,
    left_out: tuple[str, ...],
    keep: Callable[..., object] | None,
) -> tuple[Judgement, Verdicts]:
    """Judge every airframe; `keep` takes the numbers, for the next time."""
    verdicts, in_words = judge_known(known)
    shown = [one for one in in_words if group is None or one.group == str(group)]
    found, agreement = own_findings(known, verdicts, [one.verdict for one in in_words])
    if keep is not None:
        keep(verdicts, agreement, found)
    shown.sort(key=lambda a: (not a.outside, a.group, a.airframe))
    judgement = judged(
        known,
        verdicts,
        airframes=tuple(shown),
        left_out=left_out,
        disagreements=tuple(one for one in found if group is None or one.group == str(group)),
        fitted_airframes=len(known.members),
        fitted_sorties=len({row.sortie_id for row in known.rows}),
        fitted_points=len(known.rows),
        members=known.members,
    )
    return judgement, verdicts


def judge_known(known: TypePoints) -> tuple[Verdicts, list[AirframeVerdict]]:
    """Judge every airframe of points that were read before.

    Returns:
        The verdicts, and each told in the order of the members.

    Raises:
        FitError: If a group cannot be fitted.
    """
    spread = None if known.usual is None else known.usual.known
    order = known.fixed_order(known.points)
    verdicts = once(judge_fleet, known.points, FAMILY_LEVEL, order, spread)
    return verdicts, tell_verdicts(known, verdicts)


def _not_judged(
    known: TypePoints, group: GroupName | None, tag: str | None
) -> tuple[dict[Member, list[PooledPoint]], tuple[str, ...]]:
    """Return who is set aside, and in words what else is not judged; of one airframe or of all."""
    out = (*known.rejected, *known.barred)
    rows = [r for r in out if (group is None or group.holds(r)) and tag in (None, r.airframe)]
    counting = {*known.members, *known.in_small_groups}
    aside = rows_set_aside(rows, counting, known.groups, known.quantity.by_port)
    gone = {row.number for points in aside.values() for row in points}
    rest = [row for row in rows if row.number not in gone]
    words = count_reasons(((r.airframe, r.barred or r.reason) for r in rest), known.quantity.one)
    flown = known.flown.left_out
    if tag is not None:
        return aside, (*words, *(one for one in flown if f" of {tag}:" in one))
    return aside, (*known.too_small, *words, *flown)


def judge_airframe(
    store: Store,
    tag: str,
    request: PoolRequest,
    figure: StandingOutlet | None = None,
    *,
    second_opinion: bool = False,
) -> Judgement:
    """Judge one airframe in each group it flew in.

    Args:
        figure: Draw the standing into this file, .svg, .png or .pdf; or who takes what it shows.
        second_opinion: Whether to say what another program finds.

    Raises:
        UnknownNameError: If the airframe is not in the store.
        FitError: If it has no accepted points in a group that can be fitted.
    """
    request = of_type_of(store, [tag], request)
    if figure is None and not second_opinion and request.quantity is POSITION_ERROR:
        quick = judge_from_kept(store, tag, request)
        if quick is not None:
            return quick
    found = _judge(store, request, None, tag)
    everybody = found.judgement
    if all(a.airframe != tag for a in everybody.airframes):
        why = f" ({'; '.join(everybody.left_out)})" if everybody.left_out else ""
        flown = found.known.flown
        raise FitError(
            f"{tag}: no accepted {flown.what}{flown.how} in a {request.quantity.group_word} that "
            f"can be fitted{why}",
            "reduce a flight of it, or of others with the same fit",
        )
    second = _second_opinions(found, tag) if second_opinion else ()
    known, verdicts = extended(found.known, found.verdicts, found.aside)
    judgement = _of_one_airframe(everybody, known, verdicts, tag, figure)
    return replace(judgement, second_opinions=second)


def _second_opinions(found: _Judged, tag: str) -> tuple[str, ...]:
    return tuple(
        second_words(found.known, found.verdicts, number)
        for number, member in enumerate(found.known.members)
        if member.airframe == tag and np.isfinite(found.verdicts.adjusted[number])
    )


def _of_one_airframe(
    everybody: Judgement,
    known: TypePoints,
    verdicts: Verdicts,
    tag: str,
    figure: StandingOutlet | None,
) -> Judgement:
    """Return what a judgement says of one airframe, with what that rests on."""
    mine = tuple(a for a in everybody.airframes if a.airframe == tag)
    found = tuple(one for one in everybody.disagreements if one.airframe == tag)
    numbers = {(m.airframe, str(m.group)): i for i, m in enumerate(known.members)}
    details = tuple(
        standing_detail(known, verdicts, numbers[one.airframe, one.group], one)
        for one in mine
        if one.verdict != SET_ASIDE
    )
    if figure is not None:
        from fleetcal.services.curves.draw_standing import draw_standing

        draw_standing(known, verdicts, mine, found, figure)
    groups = {one.group for one in mine}
    clusters = tuple(one for one in everybody.two_clusters if one.group in groups)
    return replace(
        everybody, airframes=mine, disagreements=found, details=details, two_clusters=clusters
    )
