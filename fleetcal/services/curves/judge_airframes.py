"""Where airframes stand against their groups, in numbers and in words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.outliers import Verdicts, judge_fleet
from fleetcal.services.curves.airframe_verdict import (
    FAMILY_LEVEL,
    SMALLEST_DEPARTURE_KT,
    AirframeVerdict,
    DepartureRow,
    tell_verdicts,
)
from fleetcal.services.curves.count_reasons import count_reasons
from fleetcal.services.curves.draw_standing import draw_standing
from fleetcal.services.curves.groups import (
    GroupName,
    Member,
    TypePoints,
    gather_points,
    rejected_points,
)
from fleetcal.services.curves.judge_from_kept import judge_from_kept, keep_judged, read_mark
from fleetcal.services.curves.judgement import Judgement
from fleetcal.services.curves.own_findings import own_findings
from fleetcal.services.curves.set_aside import (
    SET_ASIDE,
    extended,
    judge_set_aside,
    rows_set_aside,
)
from fleetcal.services.curves.standing_detail import standing_detail
from fleetcal.services.curves.standing_words import judging_model_words
from fleetcal.store import PointRow, Store, find_airframe

__all__ = [
    "FAMILY_LEVEL",
    "SMALLEST_DEPARTURE_KT",
    "AirframeVerdict",
    "DepartureRow",
    "Judgement",
    "judge_airframe",
    "judge_airframes",
    "tell_verdicts",
]


def judge_airframes(
    store: Store, type_name: str | None = None, flap_setting: str = "up", group: str | None = None
) -> Judgement:
    """Judge every airframe of a type against its group.

    Args:
        group: Show only this group; all are fitted together, for the spread.

    Raises:
        FitError: If no group has enough airframes.
    """
    return _judge(store, type_name, flap_setting, group, None).judgement


@dataclass(frozen=True)
class _Judged:
    """A judgement, what it tells of, and the points of those that are set aside."""

    judgement: Judgement
    known: TypePoints
    verdicts: Verdicts
    aside: dict[Member, list[PointRow]]


def _judge(
    store: Store, type_name: str | None, flap_setting: str, group: str | None, tag: str | None
) -> _Judged:
    mark = read_mark(store)  # first: what changes meanwhile is then read again
    known, wanted = gather_points(store, type_name, flap_setting, group)
    keep = None
    if mark is not None and (wanted is None or wanted.engine is not None):
        keep = partial(keep_judged, store, mark, known)
    aside, left_out = _not_judged(store, known, wanted, tag)
    judgement, verdicts = judgement_of(known, wanted, left_out, keep)
    told = judge_set_aside(known, verdicts, aside)
    judgement = replace(judgement, airframes=(*told, *judgement.airframes))
    return _Judged(judgement, known, verdicts, aside)


def judgement_of(
    known: TypePoints,
    wanted: GroupName | None,
    left_out: tuple[str, ...],
    keep: Callable[..., object] | None = None,
) -> tuple[Judgement, Verdicts]:
    """Judge every airframe of points that were read before.

    Args:
        wanted: Show only this group.
        left_out: What is not judged, in words.
        keep: Takes the verdicts, how airframes agree with themselves and the findings, to keep them
            for the next time.

    Returns:
        The judgement and the verdicts that it tells.

    Raises:
        FitError: If a group cannot be fitted.
    """
    verdicts, told = judge_known(known)
    shown = [one for one in told if wanted is None or one.group == str(wanted)]
    found, agreement = own_findings(known, verdicts, [one.verdict for one in told])
    if keep is not None:
        keep(verdicts, agreement, found)
    shown.sort(key=lambda a: (not a.outside, a.group, a.airframe))
    judgement = Judgement(
        type=known.type.name,
        flap_setting=known.flap_setting,
        weight_kg=known.type.reference_weight_kg,
        judged=int(np.isfinite(verdicts.adjusted).sum()),
        airframes=tuple(shown),
        left_out=left_out,
        disagreements=tuple(one for one in found if wanted is None or one.group == str(wanted)),
        model=judging_model_words(verdicts.fit, len(known.groups), known.quantity),
        fitted_airframes=len(known.members),
        fitted_sorties=len({row.sortie_id for row in known.rows}),
        fitted_points=len(known.rows),
        spread_degrees_of_freedom=len(known.members) - len(known.groups),
    )
    return judgement, verdicts


def judge_known(known: TypePoints) -> tuple[Verdicts, list[AirframeVerdict]]:
    """Judge every airframe of points that were read before.

    Returns:
        The verdicts, and each told in the order of the members.

    Raises:
        FitError: If a group cannot be fitted.
    """
    verdicts = judge_fleet(known.points, FAMILY_LEVEL)
    return verdicts, tell_verdicts(known, verdicts)


def _not_judged(
    store: Store, known: TypePoints, group: GroupName | None, tag: str | None
) -> tuple[dict[Member, list[PointRow]], tuple[str, ...]]:
    """Return who is set aside, and in words what else is not judged; of one airframe or of all."""
    rejected = rejected_points(store, known, group, tag)
    barred = [row for row in known.barred if group is None or group.holds(row)]
    rows = [row for row in (*rejected, *barred) if tag in (None, row.airframe)]
    counting = {*known.members, *known.in_small_groups}
    aside = rows_set_aside(rows, counting, known.groups)
    told = {row.point_id for points in aside.values() for row in points}
    rest = [row for row in rows if row.point_id not in told]
    words = count_reasons((row.airframe, row.barred or row.reason) for row in rest)
    return aside, (words if tag is not None else (*known.too_small, *words))


def judge_airframe(
    store: Store,
    tag: str,
    type_name: str | None = None,
    flap_setting: str = "up",
    figure: Path | None = None,
) -> Judgement:
    """Judge one airframe in each group it flew in.

    Args:
        figure: Draw the standing into this file, .svg, .png or .pdf.

    Raises:
        UnknownNameError: If the airframe is not in the store.
        FitError: If it has no accepted points in a group that can be fitted.
    """
    with store.reading() as session:
        airframe = find_airframe(session, tag)
        tag, own_type = airframe.tag, airframe.aircraft_type.name
    if figure is None:
        quick = judge_from_kept(store, tag, type_name or own_type, flap_setting)
        if quick is not None:
            return quick
    found = _judge(store, type_name or own_type, flap_setting, None, tag)
    whole = found.judgement
    if all(a.airframe != tag for a in whole.airframes):
        barred = "".join(f" ({said})" for said in whole.left_out)
        raise FitError(
            f"{tag}: no accepted points with flaps {flap_setting} in a group that can be fitted"
            f"{barred}",
            "reduce a flight of it, or of others with the same fit",
        )
    known, verdicts = extended(found.known, found.verdicts, found.aside)
    return of_one_airframe(whole, known, verdicts, tag, figure)


def of_one_airframe(
    whole: Judgement,
    known: TypePoints,
    verdicts: Verdicts,
    tag: str,
    figure: Path | None = None,
) -> Judgement:
    """Return what a judgement says of one airframe, with what that rests on.

    Args:
        verdicts: That the judgement tells.
        tag: Of an airframe that was judged.
        figure: Draw the standing into this file, .svg, .png or .pdf.
    """
    mine = tuple(a for a in whole.airframes if a.airframe == tag)
    found = tuple(one for one in whole.disagreements if one.airframe == tag)
    numbers = {(m.airframe, str(m.group)): i for i, m in enumerate(known.members)}
    details = tuple(
        standing_detail(known, verdicts, numbers[one.airframe, one.group], one)
        for one in mine
        if one.verdict != SET_ASIDE
    )
    if figure is not None:
        draw_standing(known, verdicts, mine, found, figure)
    return replace(whole, airframes=mine, disagreements=found, details=details)
