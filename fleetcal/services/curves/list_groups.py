"""Which groups the store holds, and how much each has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fleetcal.fleet.fewest import FEWEST_AIRCRAFT
from fleetcal.services.curves.count_reasons import counted_reasons_words
from fleetcal.services.curves.group_name import GroupName
from fleetcal.store import CountedIn, MemberCount, Store, count_groups
from fleetcal.wording import counted


@dataclass(frozen=True, kw_only=True)
class GroupLine:
    """One group as it is listed."""

    type: str
    group: str
    flap_setting: str
    airframes: int
    sorties: int
    points: int
    rejected_points: int
    barred_points: int
    set_aside_airframes: int
    slowest_kt: float | None
    fastest_kt: float | None
    enough: bool


@dataclass(frozen=True)
class GroupList:
    """All groups in the store, by type and name, and who is set aside in which, in words."""

    groups: tuple[GroupLine, ...]
    set_aside: tuple[str, ...]


def list_groups(store: Store) -> GroupList:
    """Count airframes, sorties and points of every group."""
    with store.lookup() as reader:
        return groups_of(count_groups(reader))


def groups_of(counts: Mapping[CountedIn, Mapping[str, MemberCount]]) -> GroupList:
    """Return every group with what its airframes have together."""
    groups = sorted(
        ((kind.type, _name(kind), kind.flap_setting), members) for kind, members in counts.items()
    )
    return GroupList(
        tuple(_line(key, members) for key, members in groups),
        tuple(
            f"{tag} is set aside in {key[1]}, flaps {key[2]}: {counted_reasons_words(own.reasons)}"
            for key, members in groups
            for tag, own in sorted(members.items())
            if not own.points
        ),
    )


def _name(kind: CountedIn) -> str:
    return str(GroupName(kind.static_source, kind.engine, kind.propeller))


def _line(key: tuple[str, str, str], members: Mapping[str, MemberCount]) -> GroupLine:
    having = [own for own in members.values() if own.points]
    type_name, group, flap_setting = key
    return GroupLine(
        type=type_name,
        group=group,
        flap_setting=flap_setting,
        airframes=len(having),
        sorties=sum(own.sorties for own in having),
        points=sum(own.points for own in having),
        rejected_points=sum(own.rejected for own in members.values()),
        barred_points=sum(own.barred for own in members.values()),
        set_aside_airframes=len(members) - len(having),
        slowest_kt=min((v for own in having if (v := own.slowest_kt) is not None), default=None),
        fastest_kt=max((v for own in having if (v := own.fastest_kt) is not None), default=None),
        enough=len(having) >= FEWEST_AIRCRAFT,
    )


def groups_answer(found: GroupList) -> str:
    """Say how many groups there are, and how many have a curve."""
    if not found.groups:
        return "The store has no group yet, as no flight was reduced."
    number, enough = len(found.groups), sum(one.enough for one in found.groups)
    have = "none has" if enough == 0 else f"{enough} {'has' if enough == 1 else 'have'}"
    if enough == number:
        have = "it has" if number == 1 else "each has"
    be = "is" if number == 1 else "are"
    return f"There {be} {counted(number, 'group')}, and {have} enough airframes for a pooled curve."
