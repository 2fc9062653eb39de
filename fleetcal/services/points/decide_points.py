"""List points, reject them with a reason, take that back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from fleetcal.errors import UnknownNameError
from fleetcal.store import (
    PointFilter,
    Store,
    StoredPoint,
    Touching,
    accept_climbs,
    accept_points,
    load_description,
    reject_climbs,
    reject_points,
    select_points,
    type_of_airframe,
)

#: What holds the measurements that are decided on.
POINTS: Final = "points"
CLIMBS: Final = "climbs"


@dataclass(frozen=True)
class PointList:
    """Points that meet a filter."""

    points: tuple[StoredPoint, ...]


@dataclass(frozen=True)
class Decision:
    """What was decided for how many measurements."""

    decision: str
    count: int
    reason: str


def list_points(store: Store, filter_: PointFilter) -> PointList:
    """Return the points that meet a filter.

    Raises:
        UnknownNameError: If an airframe or a static source is named that is not in the store.
    """
    with store.lookup() as session:
        if filter_.airframe is not None:
            type_of_airframe(session, filter_.airframe)
        if filter_.static_source is not None:
            kinds = load_description(session).types
            known = [source.name for kind in kinds for source in kind.static_sources]
            if filter_.static_source not in known:
                raise UnknownNameError(
                    f"there is no static source {filter_.static_source!r} in the store",
                    f"known: {', '.join(known)}" if known else "load a fleet description first",
                )
        return PointList(tuple(select_points(session, filter_)))


def points_of_sortie(store: Store, sortie_id: int) -> PointList:
    """Return the points of one flight.

    Raises:
        UnknownNameError: If the store has none of it.
    """
    with store.lookup() as session:
        found = tuple(select_points(session, PointFilter(sortie_id=sortie_id)))
    if not found:
        raise UnknownNameError(f"there is no sortie {sortie_id} with points in the store")
    return PointList(found)


def reject(store: Store, ids: Sequence[int], reason: str, table: str = POINTS) -> Decision:
    """Take points, or climbs and glides, out of every pool.

    Raises:
        DataError: If a number is unknown or the reason blank; then nothing is changed.
    """
    reject_rows = {POINTS: reject_points, CLIMBS: reject_climbs}[table]
    count = store.write(
        lambda session: reject_rows(session, ids, reason, datetime.now(UTC)), _touching(ids, table)
    )
    return Decision("rejected", count, reason.strip())


def accept(store: Store, ids: Sequence[int], table: str = POINTS) -> Decision:
    """Put points, or climbs and glides, back into the pools.

    Raises:
        UnknownNameError: If a number is unknown; then nothing is changed.
    """
    accept_rows = {POINTS: accept_points, CLIMBS: accept_climbs}[table]
    count = store.write(
        lambda session: accept_rows(session, ids, datetime.now(UTC)), _touching(ids, table)
    )
    return Decision("accepted", count, "")


def _touching(ids: Sequence[int], table: str) -> Touching:
    return Touching(points=ids) if table == POINTS else Touching(climbs=ids)
