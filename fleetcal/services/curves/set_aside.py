"""Airframes whose points are all set aside: rejected, or barred by a failed leak check.

They are in no pool, but whoever looks at the fleet must see them first, with
the reason and with how far they depart from the group as if their points
counted. No other airframe is judged against them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from typing import Final, TypeVar

import numpy as np

from fleetcal.fleet.judged_instead import adjusted_instead
from fleetcal.fleet.outliers import Verdicts
from fleetcal.fleet.standing import standings_from_sums
from fleetcal.fleet.sums import AircraftSums, aircraft_sums, joined_sums
from fleetcal.services.curves.airframe_verdict import AirframeVerdict, tell_verdicts
from fleetcal.services.curves.count_reasons import counted_reasons_words
from fleetcal.services.curves.group_name import Flown, GroupName, Member, group_of
from fleetcal.services.curves.pooled_point import PooledPoint, fleet_points
from fleetcal.services.curves.type_points import TypePoints

#: The verdict on an airframe whose points are all set aside.
SET_ASIDE: Final = "set aside"

Row = TypeVar("Row", bound=Flown)


def rows_set_aside(
    rows: Iterable[Row],
    counting: Collection[Member],
    groups: Collection[GroupName],
    by_port: bool = True,
) -> dict[Member, list[Row]]:
    """Return the points that do not count, of airframes that have no others in the group.

    Args:
        rows: That were rejected or are barred.
        counting (collection of Member): Who has points that count.
        groups (collection of GroupName): Tell which static sources are pooled over their pairings.

    Returns:
        By tag and group.
    """
    pooled = {group.static_source for group in groups if group.engine is None}
    found: dict[Member, list[Row]] = {}
    for row in rows:
        member = Member(row.airframe, group_of(row, row.static_source not in pooled, by_port))
        if member not in counting:
            found.setdefault(member, []).append(row)
    return dict(sorted(found.items(), key=lambda item: (item[0].airframe, str(item[0].group))))


def judge_set_aside(
    known: TypePoints, verdicts: Verdicts, aside: dict[Member, list[PooledPoint]]
) -> list[AirframeVerdict]:
    """Tell how far airframes that are set aside depart, as if their points counted.

    Args:
        known: For the type, its groups and the quantity.
        verdicts: On the airframes that count.
        aside: From `rows_set_aside`.

    Returns:
        With the verdict ``set aside``; without a departure where the group has no curve.
    """
    large = [member for member in aside if member.group in known.groups]
    verdict_on = {}
    if large:
        own = _alone(known, aside, large)
        judged = _judged(verdicts, own)
        verdict_on = dict(zip(large, tell_verdicts(own, judged), strict=True))
    return [_words(known, member, rows, verdict_on.get(member)) for member, rows in aside.items()]


def _alone(
    known: TypePoints, aside: dict[Member, list[PooledPoint]], members: Sequence[Member]
) -> TypePoints:
    """Return the points of some that are set aside, as if they were all there is."""
    rows = tuple(row for member in members for row in aside[member])
    owners = [i for i, member in enumerate(members) for _ in aside[member]]
    groups = [known.groups.index(member.group) for member in members]
    points = fleet_points(rows, owners, groups)
    return replace(known, members=tuple(members), points=points, rows=rows)


def _joined(verdicts: Verdicts, own: TypePoints) -> AircraftSums:
    sums = aircraft_sums(own.points).with_order(verdicts.fit.order)
    return joined_sums([verdicts.fit.sums, sums])


def _judged(verdicts: Verdicts, own: TypePoints) -> Verdicts:
    """Judge each against the airframes that count and are not suspect."""
    joined = _joined(verdicts, own)
    numbers = range(len(verdicts.fit.sums.count), len(joined.count))
    apart = verdicts.suspects | set(numbers)
    groups = len(verdicts.fit.beta)
    standings = standings_from_sums(joined, groups, verdicts.fit, apart, numbers)
    adjusted = np.array(
        [
            adjusted_instead(verdicts, None, one.p_value) if np.isfinite(one.p_value) else np.nan
            for one in standings
        ]
    )
    return Verdicts(
        standings=standings,
        adjusted=adjusted,
        suspects=frozenset(range(len(standings))),
        fit=verdicts.fit,
    )


def reasons_words(rows: Iterable[Flown], one: str = "point") -> str:
    """Return why points do not count, each reason once with how many points it keeps out."""
    return counted_reasons_words(Counter(row.barred or row.reason for row in rows), one)


def _words(
    known: TypePoints, member: Member, rows: Sequence[PooledPoint], verdict: AirframeVerdict | None
) -> AirframeVerdict:
    why = reasons_words(rows, known.quantity.one)
    if verdict is None:
        return AirframeVerdict(
            airframe=member.airframe,
            group=str(member.group),
            verdict=SET_ASIDE,
            outside=False,
            reason=f"{why}; its group has too few airframes to compare it with",
            largest_departure=None,
            at_speed_kt=None,
            p_value=None,
            adjusted_p_value=None,
            others=0,
            points=len(rows),
            set_aside=True,
            rows=(),
            why_aside=why,
        )
    return replace(
        verdict,
        verdict=SET_ASIDE,
        outside=False,
        reason=f"{why}. If its {known.quantity.many} counted, it would be {verdict.verdict}: "
        f"{verdict.reason}",
        if_counted=verdict.verdict,
        why_aside=why,
    )


def extended(
    known: TypePoints, verdicts: Verdicts, aside: dict[Member, list[PooledPoint]]
) -> tuple[TypePoints, Verdicts]:
    """Return points and verdicts with those that are set aside behind the others, to draw them.

    Args:
        verdicts: On its members.

    Returns:
        The fit is that of `verdicts`; only its sums have more airframes.
    """
    large = [member for member in aside if member.group in known.groups]
    if not large:
        return known, verdicts
    own = _alone(known, aside, large)
    judged = _judged(verdicts, own)
    first = len(known.members)
    points = fleet_points(
        (*known.rows, *own.rows),
        [*known.points.aircraft, *(first + own.points.aircraft)],
        [*known.points.group_of, *own.points.group_of],
    )
    return (
        replace(
            known,
            members=(*known.members, *large),
            points=points,
            rows=(*known.rows, *own.rows),
        ),
        Verdicts(
            standings=(*verdicts.standings, *judged.standings),
            adjusted=np.concatenate([verdicts.adjusted, judged.adjusted]),
            suspects=verdicts.suspects,
            fit=replace(verdicts.fit, sums=_joined(verdicts, own)),
        ),
    )
