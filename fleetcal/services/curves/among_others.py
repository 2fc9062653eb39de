"""What other airframes say of one: their groups, each fitted and judged once."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.fleet.few_aircraft import one_more
from fleetcal.fleet.own_curve import Beforehand
from fleetcal.fleet.pooled import PooledFit
from fleetcal.services.curves.fit_few import fit_few_airframes
from fleetcal.services.curves.fit_pool import fit_pool
from fleetcal.services.curves.fitted_group import AirframeOf, CurveRequest, FittedGroup
from fleetcal.services.curves.group_name import GroupName, Member
from fleetcal.services.curves.groups import sort_points
from fleetcal.services.curves.judge_airframes import judge_known
from fleetcal.services.curves.large_enough import enough_fly
from fleetcal.services.curves.pool_members import pool_of
from fleetcal.services.curves.quantity import ReadPoints


@dataclass(frozen=True)
class AmongOthers:
    """What other airframes say of one.

    Attributes:
        group: Whose curve stands where it has flown nothing; None without others.
        before: Nothing where no group tells of it.
    """

    group: FittedGroup | None
    before: tuple[Beforehand, ...]
    airframe: AirframeOf

    @property
    def outside(self) -> bool:
        """Whether it stands outside the group, which then says nothing of it."""
        return self.airframe.outside


@dataclass(frozen=True)
class JudgedGroup:
    """A fitted group, and who of those that flew it stand outside."""

    fitted: FittedGroup
    outside: frozenset[Member] = frozenset()


class GroupFits:
    """The fits of the groups of a type at one flap setting; each is made once, when it is needed.

    Attributes:
        read: The points.
    """

    def __init__(self, request: CurveRequest, read: ReadPoints) -> None:
        """Take the points, and for what weight and altitude curves are told."""
        self.read = read
        self._request = request
        self._made: dict[tuple[GroupName, bool], JudgedGroup] = {}

    def of(self, name: GroupName, *, few: bool = False) -> JudgedGroup:
        """Return a group that somebody flew.

        Args:
            few: Whether so few did that the spread is supposed.
        """
        key = (name, few)
        if key not in self._made:
            make = _of_few if few else _of_many
            self._made[key] = make(self._request, self.read, name)
        return self._made[key]


def among_others(groups: GroupFits, name: GroupName, tag: str) -> AmongOthers:
    """Return what other airframes say of one: its pairing, or all pairings of its static source."""
    points, port = groups.read.points, GroupName(name.static_source)
    for group in (name, port):
        if enough_fly({row.airframe for row in points if group.holds(row)}):
            return _joined(groups.of(group), tag)
    if {row.airframe for row in points if port.holds(row)} <= {tag}:
        return AmongOthers(None, (), AirframeOf(tag=tag))
    return _joined(groups.of(port, few=True), tag)


def _of_few(request: CurveRequest, read: ReadPoints, group: GroupName) -> JudgedGroup:
    return JudgedGroup(fit_few_airframes(request, read, group))


def _of_many(request: CurveRequest, read: ReadPoints, group: GroupName) -> JudgedGroup:
    known = sort_points(read, [group])
    judged = judge_known(known)[1]
    outside = {m for m, one in zip(known.members, judged, strict=True) if one.outside}
    fitted = fit_pool(request, pool_of(known, judged, named=[group]), group)
    return JudgedGroup(fitted, frozenset(outside))


def _joined(judged: JudgedGroup, tag: str) -> AmongOthers:
    fitted, outside = judged.fitted, judged.outside
    fit, members = fitted.fit, fitted.known.members
    assert isinstance(fit, PooledFit)
    own = Member(tag, fitted.name)
    others = {m.airframe for m in members if m.group == fitted.name} - {tag}
    airframe = AirframeOf(tag=tag, group=fitted.name, others=len(others), outside=own in outside)
    if own in outside:
        return AmongOthers(fitted, (), airframe)
    place = members.index(own) if own in members else None
    return AmongOthers(fitted, one_more(fit, fitted.number, place), airframe)
