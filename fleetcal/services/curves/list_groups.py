"""Which groups the store holds, and how much each has."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.fleet.pooled import FEWEST_AIRCRAFT
from fleetcal.services.curves.groups import GroupName
from fleetcal.store import PointFilter, PointRow, Store, select_points


@dataclass(frozen=True)
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
    slowest_kt: float | None
    fastest_kt: float | None
    enough: bool


@dataclass(frozen=True)
class GroupList:
    """All groups in the store, by type and name."""

    groups: tuple[GroupLine, ...]


def list_groups(store: Store) -> GroupList:
    """Count airframes, sorties and points of every group.

    Parameters
    ----------
    store : Store

    Returns
    -------
    GroupList
    """
    with store.reading() as session:
        rows = select_points(session, PointFilter())
    groups: dict[tuple[str, str, str], list[PointRow]] = {}
    for row in rows:
        name = str(GroupName(row.static_source, row.engine, row.propeller))
        groups.setdefault((row.type, name, row.flap_setting), []).append(row)
    return GroupList(tuple(_line(key, members) for key, members in sorted(groups.items())))


def _line(key: tuple[str, str, str], rows: list[PointRow]) -> GroupLine:
    accepted = [row for row in rows if row.accepted]
    good = [row for row in accepted if not row.barred]
    speeds = [row.vic_kt for row in good]
    airframes = len({row.airframe for row in good})
    return GroupLine(
        *key,
        airframes=airframes,
        sorties=len({row.sortie_id for row in good}),
        points=len(good),
        rejected_points=len(rows) - len(accepted),
        barred_points=len(accepted) - len(good),
        slowest_kt=min(speeds) if speeds else None,
        fastest_kt=max(speeds) if speeds else None,
        enough=airframes >= FEWEST_AIRCRAFT,
    )
