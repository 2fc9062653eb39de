"""Which groups the store holds, and how much each has."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fleetcal.fleet.pooled import FEWEST_AIRCRAFT
from fleetcal.services.curves.group_name import GroupName, Member, group_of
from fleetcal.services.curves.set_aside import reasons_words, rows_set_aside
from fleetcal.store import PointFilter, Store, StoredPoint, select_points


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
    with store.reading() as session:
        return groups_of(select_points(session, PointFilter()))


def groups_of(rows: Sequence[StoredPoint]) -> GroupList:
    """Count airframes, sorties and points of every group that points belong to."""
    groups: dict[tuple[str, str, str], list[StoredPoint]] = {}
    for row in rows:
        name = str(GroupName(row.static_source, row.engine, row.propeller))
        groups.setdefault((row.type, name, row.flap_setting), []).append(row)
    return GroupList(
        tuple(_line(key, members) for key, members in sorted(groups.items())),
        tuple(note for key, members in sorted(groups.items()) for note in _set_aside(key, members)),
    )


def _set_aside(key: tuple[str, str, str], rows: list[StoredPoint]) -> list[str]:
    return [
        f"{member.airframe} is set aside in {key[1]}, flaps {key[2]}: {reasons_words(own)}"
        for member, own in _aside(rows).items()
    ]


def _aside(rows: list[StoredPoint]) -> dict[Member, list[StoredPoint]]:
    good = [row for row in rows if row.accepted and not row.barred]
    counting = {Member(row.airframe, group_of(row)) for row in good}
    return rows_set_aside((row for row in rows if not row.accepted or row.barred), counting, ())


def _line(key: tuple[str, str, str], rows: list[StoredPoint]) -> GroupLine:
    accepted = [row for row in rows if row.accepted]
    good = [row for row in accepted if not row.barred]
    speeds = [row.vic_kt for row in good]
    airframes = len({row.airframe for row in good})
    type_name, group, flap_setting = key
    return GroupLine(
        type=type_name,
        group=group,
        flap_setting=flap_setting,
        airframes=airframes,
        sorties=len({row.sortie_id for row in good}),
        points=len(good),
        rejected_points=len(rows) - len(accepted),
        barred_points=len(accepted) - len(good),
        set_aside_airframes=len(_aside(rows)),
        slowest_kt=min(speeds) if speeds else None,
        fastest_kt=max(speeds) if speeds else None,
        enough=airframes >= FEWEST_AIRCRAFT,
    )
