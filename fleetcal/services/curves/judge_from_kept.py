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
from fleetcal.services.curves.group_name import Member, group_of
from fleetcal.services.curves.judgement import Judgement, judged
from fleetcal.services.curves.kept_pool import (
    FEWEST_WORTH_KEEPING,
    KeptPool,
    keep_pool,
    kept_pool,
)
from fleetcal.services.curves.own_findings import OwnFinding, own_findings
from fleetcal.services.curves.pooled_point import PooledPoint, fleet_points
from fleetcal.services.curves.position_error import (
    POSITION_ERROR,
    CorrectionScale,
    points_flown,
    pooled_points,
)
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.curves.set_aside import judge_set_aside, rows_set_aside
from fleetcal.services.curves.standing_detail import standing_detail
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.store import (
    PointFilter,
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
    """Airframes whose points were read: the one asked for first, then those that changed.

    `out` are the points of the one asked for that were rejected or are barred.
    """

    kind: TypeDescription
    members: tuple[Member, ...]
    own: int
    changed: frozenset[str]
    rows: tuple[PooledPoint, ...]
    out: tuple[PooledPoint, ...]
    counting: frozenset[Member]


def read_mark(store: Store) -> StateMark | None:
    """Return the mark of a store's state."""
    with store.lookup() as reader:
        return state_mark(reader)


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
    if len(known.members) < FEWEST_WORTH_KEEPING or known.usual is None or known.usual.given:
        return
    flown = {
        (owner, row.sortie_id) for owner, row in zip(known.points.aircraft, known.rows, strict=True)
    }
    bends = verdicts.fit.bends
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
        bends=np.zeros(len(known.groups)) if bends is None else bends,
        usual=known.usual,
        suspects=verdicts.suspects,
        standings=verdicts.standings,
        adjusted=verdicts.adjusted,
        lines=agreement.lines,
        tests=agreement.tests,
        sorties=np.bincount([owner for owner, _ in flown], minlength=len(known.members)),
        findings=findings,
    )
    keep_pool(store, kept)


def judge_from_kept(store: Store, tag: str, request: PoolRequest) -> Judgement | None:
    """Judge one airframe with what was kept of its type.

    Returns:
        None if all must be judged: nothing was kept, too much has changed, the airframe is new in
        a group, or another spread is asked for.
    """
    kept = kept_pool(store, request.type or "", request.flap_setting)
    if request.usual_spread_kt is not None:
        return None
    fresh = None if kept is None else _fresh(store, kept, tag)
    if kept is None or fresh is None:
        return None
    place = {member: i for i, member in enumerate(kept.members)}
    first = [place[member] for member in fresh.members]
    order = np.array([*first, *sorted(set(range(len(place))) - set(first))], dtype=np.int64)
    verdicts = _verdicts(kept, fresh, order)
    known = _own_points(kept, fresh)
    verdicts_in_words = tell_verdicts(known, verdicts)
    if tag in fresh.changed:
        rest = order[fresh.own :]
        others = other_lines(kept.lines[rest], kept.sums.group_of[rest], len(kept.groups))
        looked_at = int(kept.tests[rest].sum())
        words = [one.verdict for one in verdicts_in_words]
        found, _ = own_findings(known, verdicts, words, others, looked_at)
    else:
        found = tuple(one for one in kept.findings if one.airframe == tag)
    flown = {(row.airframe, group_of(row), row.sortie_id) for row in fresh.rows}
    mine = sorted(
        range(len(verdicts_in_words)),
        key=lambda i: (not verdicts_in_words[i].outside, verdicts_in_words[i].group),
    )
    details = tuple(standing_detail(known, verdicts, i, verdicts_in_words[i]) for i in mine)
    aside = rows_set_aside(fresh.out, fresh.counting, kept.groups)
    gone = {row.number for rows in aside.values() for row in rows}
    return judged(
        known,
        verdicts,
        airframes=(*judge_set_aside(known, verdicts, aside), *(verdicts_in_words[i] for i in mine)),
        left_out=count_reasons(
            (row.airframe, row.barred or row.reason) for row in fresh.out if row.number not in gone
        ),
        disagreements=found,
        fitted_airframes=len(kept.members),
        fitted_sorties=int(kept.sorties[order[len(first) :]].sum()) + len(flown),
        fitted_points=int(verdicts.fit.sums.count.sum()),
        members=[kept.members[old] for old in order],
        details=details,
    )


def _fresh(store: Store, kept: KeptPool, tag: str) -> _Fresh | None:
    """Read the points of the airframe and of all that changed."""
    with store.lookup() as reader:
        changed = airframes_changed_since(reader, kept.mark)
        if changed is None or len(changed) > len(kept.members) / _ONE_IN:
            return None
        kind = next(one for one in load_types(reader) if one.name == kept.type)
        read_anew: list[PooledPoint] = []
        for one in (tag, *sorted(changed - {tag})):
            chosen = PointFilter(airframe=one, type=kept.type, flap_setting=kept.flap_setting)
            read_anew += pooled_points(kind, select_points(reader, chosen))
    own_out = [r for r in read_anew if r.airframe == tag and (r.barred or not r.accepted)]
    out = tuple(sorted(own_out, key=lambda row: row.accepted))  # the rejected first
    rows = [row for row in read_anew if row.accepted and not row.barred]
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
        out=out,
        counting=frozenset(read),
    )


def _own_points(kept: KeptPool, fresh: _Fresh) -> TypePoints:
    """Return the airframe's own points, numbered as in the verdicts."""
    own = fresh.members[: fresh.own]
    rows = tuple(row for row in fresh.rows if Member(row.airframe, group_of(row)) in own)
    return TypePoints(
        quantity=POSITION_ERROR,
        scale=CorrectionScale(fresh.kind.scaling_speed_kt),
        flown=points_flown(kept.flap_setting),
        type=fresh.kind,
        flap_setting=kept.flap_setting,
        usual=kept.usual,
        groups=kept.groups,
        members=own,
        points=_arrays(kept, rows, own),
        rows=rows,
        barred=tuple(row for row in fresh.out if row.barred),
    )


def _arrays(kept: KeptPool, rows: Sequence[PooledPoint], members: Sequence[Member]) -> FleetPoints:
    number = {member: i for i, member in enumerate(members)}
    owners = [number[Member(row.airframe, group_of(row))] for row in rows]
    return fleet_points(rows, owners, [kept.groups.index(one.group) for one in members])


def _verdicts(kept: KeptPool, fresh: _Fresh, order: Index) -> Verdicts:
    """Return the verdicts with the airframe's own members first, then those that changed."""
    count, groups = len(fresh.members), len(kept.groups)
    read = aircraft_sums(_arrays(kept, fresh.rows, fresh.members))
    sums = joined_sums([read, kept.sums.select(order[count:])]).with_order(kept.order)
    known = kept.usual.known
    fit = replace(fit_at(sums, groups, kept.spread, kept.phi), bends=kept.bends, known=known)
    new_place = {int(old): new for new, old in enumerate(order)}
    suspects = frozenset(new_place[one] for one in kept.suspects)
    standings = [replace(kept.standings[old], aircraft=i) for i, old in enumerate(order)]
    if fresh.changed:
        fit = replace(fit_sums(sums, groups, search_start(fit)), bends=kept.bends, known=known)
        for one in standings_from_sums(sums, groups, fit, suspects, range(count)):
            standings[one.aircraft] = one
    return Verdicts(tuple(standings), adjusted_chances(standings, fit), suspects, fit)
