"""Judge one airframe with what was kept of the others: only its own points are read.

Of airframes that changed since, the sums are made anew and the pool is fitted
again from sums. Which aircraft are set aside, the order of the curves and the
p-values of airframes that did not change stay as they were until all are judged
again; the pool is so large by then that one airframe moves them very little.

All are judged again when one airframe in fifty has changed, one comes to a group or leaves
it, or anything changes that is not one airframe's, an undo included. After one further
sortie departures differ from judging everybody by less than 0.001 kt and chances by less
than 0.0001.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fleetcal.fleet.outliers import Verdicts, adjusted_chances
from fleetcal.fleet.own_agreement import OwnAgreement
from fleetcal.fleet.own_lines import other_lines
from fleetcal.fleet.points import FleetPoints, Index
from fleetcal.fleet.pooled import fit_at, fit_sums, search_start
from fleetcal.fleet.standing import standings_from_sums
from fleetcal.fleet.sums import aircraft_sums, joined_sums
from fleetcal.services.curves.airframe_verdict import tell_verdicts
from fleetcal.services.curves.count_reasons import count_reasons
from fleetcal.services.curves.groups import (
    Member,
    TypePoints,
    group_of,
    rejected_points,
)
from fleetcal.services.curves.judgement import Judgement
from fleetcal.services.curves.kept_pool import (
    FEWEST_WORTH_KEEPING,
    KeptPool,
    keep_pool,
    kept_pool,
)
from fleetcal.services.curves.own_findings import OwnFinding, own_findings
from fleetcal.services.curves.point_arrays import point_arrays
from fleetcal.services.curves.set_aside import judge_set_aside, rows_set_aside
from fleetcal.services.curves.standing_detail import standing_detail
from fleetcal.services.curves.standing_words import judging_model_words
from fleetcal.store import (
    PointFilter,
    PointRow,
    StateMark,
    Store,
    TypeDescription,
    airframes_changed_since,
    load_types,
    select_points,
    state_mark,
)

#: One airframe in so many may have changed before all are judged again.
_ONE_IN: Final = 50


@dataclass(frozen=True, kw_only=True)
class _Fresh:
    """Airframes whose points were read: the one asked for first, then those that changed."""

    kind: TypeDescription
    members: tuple[Member, ...]
    own: int
    changed: frozenset[str]
    rows: tuple[PointRow, ...]
    barred: tuple[PointRow, ...]
    counting: frozenset[Member]


def read_mark(store: Store) -> StateMark | None:
    """Return the mark of a store's state."""
    with store.reading() as session:
        return state_mark(session)


def keep_judged(
    store: Store,
    mark: StateMark,
    known: TypePoints,
    verdicts: Verdicts,
    agreement: OwnAgreement,
    findings: tuple[OwnFinding, ...],
) -> None:
    """Keep what judging a type came to; small ones are quicker judged again.

    Args:
        mark: Of a state no later than the points.
        known: With pairings kept apart.
    """
    if len(known.members) < FEWEST_WORTH_KEEPING:
        return
    flown = {
        (owner, row.sortie_id) for owner, row in zip(known.points.aircraft, known.rows, strict=True)
    }
    kept = KeptPool(
        mark=mark,
        type=known.type.name,
        flap_setting=known.flap_setting,
        groups=known.groups,
        members=known.members,
        sums=aircraft_sums(known.points),
        order=verdicts.fit.order,
        spread=verdicts.fit.spread,
        phi=verdicts.fit.phi,
        bends=np.zeros(len(known.groups)) if verdicts.fit.bends is None else verdicts.fit.bends,
        suspects=verdicts.suspects,
        standings=verdicts.standings,
        adjusted=verdicts.adjusted,
        lines=agreement.lines,
        tests=agreement.tests,
        sorties=np.bincount([owner for owner, _ in flown], minlength=len(known.members)),
        findings=findings,
    )
    keep_pool(store, kept)


def judge_from_kept(store: Store, tag: str, type_name: str, flap_setting: str) -> Judgement | None:
    """Judge one airframe with what was kept of its type.

    Returns:
        None if all must be judged: nothing was kept, too much has changed, or the airframe is new
        in a group.
    """
    kept = kept_pool(store, type_name, flap_setting)
    fresh = None if kept is None else _fresh(store, kept, tag)
    if kept is None or fresh is None:
        return None
    place = {member: i for i, member in enumerate(kept.members)}
    first = [place[member] for member in fresh.members]
    order = np.array([*first, *sorted(set(range(len(place))) - set(first))], dtype=np.int64)
    verdicts = _verdicts(kept, fresh, order)
    known = _own_points(kept, fresh)
    told = tell_verdicts(known, verdicts)
    if tag in fresh.changed:
        rest = order[fresh.own :]
        others = other_lines(kept.lines[rest], kept.sums.group_of[rest], len(kept.groups))
        looked_at = int(kept.tests[rest].sum())
        words = [one.verdict for one in told]
        found, _ = own_findings(known, verdicts, words, others, looked_at)
    else:
        found = tuple(one for one in kept.findings if one.airframe == tag)
    flown = {(row.airframe, group_of(row), row.sortie_id) for row in fresh.rows}
    mine = sorted(range(len(told)), key=lambda i: (not told[i].outside, told[i].group))
    details = tuple(standing_detail(known, verdicts, i, told[i]) for i in mine)
    out = (*rejected_points(store, known, tag=tag), *fresh.barred)
    aside = rows_set_aside(out, fresh.counting, kept.groups)
    gone = {row.point_id for rows in aside.values() for row in rows}
    return Judgement(
        type=kept.type,
        flap_setting=flap_setting,
        weight_kg=known.type.reference_weight_kg,
        judged=int(np.isfinite(verdicts.adjusted).sum()),
        airframes=(*judge_set_aside(known, verdicts, aside), *(told[i] for i in mine)),
        left_out=count_reasons(
            (r.airframe, r.barred or r.reason) for r in out if r.point_id not in gone
        ),
        disagreements=found,
        model=judging_model_words(verdicts.fit, len(kept.groups)),
        fitted_airframes=len(kept.members),
        fitted_sorties=int(kept.sorties[order[len(first) :]].sum()) + len(flown),
        fitted_points=int(verdicts.fit.sums.count.sum()),
        spread_degrees_of_freedom=len(kept.members) - len(kept.groups),
        details=details,
    )


def _fresh(store: Store, kept: KeptPool, tag: str) -> _Fresh | None:
    """Read the points of the airframe and of all that changed."""
    with store.reading() as session:
        changed = airframes_changed_since(session, kept.mark)
        if changed is None or len(changed) > len(kept.members) / _ONE_IN:
            return None
        kind = next(one for one in load_types(session) if one.name == kept.type)
        rows: list[PointRow] = []
        for one in (tag, *sorted(changed - {tag})):
            wanted = PointFilter(
                airframe=one, type=kept.type, flap_setting=kept.flap_setting, accepted=True
            )
            rows += select_points(session, wanted)
    barred = tuple(row for row in rows if row.barred and row.airframe == tag)
    rows = [row for row in rows if not row.barred]
    read = {Member(row.airframe, group_of(row)) for row in rows}
    there = {one for one in kept.members if one.airframe == tag or one.airframe in changed}
    if not any(one.airframe == tag for one in there):
        return None
    strange = {one for one in read ^ there if one.airframe in changed or one.group in kept.groups}
    if strange:  # an airframe came to a group, or left one
        return None
    members = sorted(there, key=lambda m: (m.airframe != tag, m.airframe, str(m.group)))
    own = sum(one.airframe == tag for one in members)
    relevant = changed & {one.airframe for one in there}
    used = tuple(row for row in rows if Member(row.airframe, group_of(row)) in there)
    return _Fresh(
        kind=kind,
        members=tuple(members),
        own=own,
        changed=relevant,
        rows=used,
        barred=barred,
        counting=frozenset(read),
    )


def _own_points(kept: KeptPool, fresh: _Fresh) -> TypePoints:
    """Return the airframe's own points, numbered as in the verdicts."""
    own = fresh.members[: fresh.own]
    rows = tuple(row for row in fresh.rows if Member(row.airframe, group_of(row)) in own)
    return TypePoints(
        type=fresh.kind,
        flap_setting=kept.flap_setting,
        groups=kept.groups,
        members=own,
        points=_arrays(kept, fresh.kind, rows, own),
        rows=rows,
        too_small=(),
        barred=fresh.barred,
    )


def _arrays(
    kept: KeptPool, kind: TypeDescription, rows: Sequence[PointRow], members: Sequence[Member]
) -> FleetPoints:
    number = {member: i for i, member in enumerate(members)}
    owners = [number[Member(row.airframe, group_of(row))] for row in rows]
    return point_arrays(kind, rows, owners, [kept.groups.index(one.group) for one in members])


def _verdicts(kept: KeptPool, fresh: _Fresh, order: Index) -> Verdicts:
    """Return the verdicts with the airframe's own members first, then those that changed."""
    count, groups = len(fresh.members), len(kept.groups)
    read = aircraft_sums(_arrays(kept, fresh.kind, fresh.rows, fresh.members))
    sums = joined_sums([read, kept.sums.select(order[count:])]).with_order(kept.order)
    fit = replace(fit_at(sums, groups, kept.spread, kept.phi), bends=kept.bends)
    new_place = {int(old): new for new, old in enumerate(order)}
    suspects = frozenset(new_place[one] for one in kept.suspects)
    standings = [replace(kept.standings[old], aircraft=i) for i, old in enumerate(order)]
    if fresh.changed:
        fit = replace(fit_sums(sums, groups, search_start(fit)), bends=kept.bends)
        for one in standings_from_sums(sums, groups, fit, suspects, range(count)):
            standings[one.aircraft] = one
    return Verdicts(tuple(standings), adjusted_chances(standings), suspects, fit)
