"""List the climbs and glides in the store, reject them with a reason, take that back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from fleetcal.services.curves.groups import find_type
from fleetcal.store import (
    ClimbRow,
    Store,
    accept_climbs,
    find_airframe,
    load_description,
    reject_climbs,
    select_climbs,
)


@dataclass(frozen=True)
class ClimbList:
    """All climbs and glides, or those of one type."""

    climbs: tuple[ClimbRow, ...]


@dataclass(frozen=True)
class ClimbDecision:
    """What was decided for how many climbs and glides."""

    decision: str
    climbs: int
    reason: str


def list_climbs(
    store: Store,
    type_name: str | None = None,
    airframe: str | None = None,
    kind: str | None = None,
    accepted: bool | None = None,
) -> ClimbList:
    """Return the climbs and glides in the store.

    Args:
        type_name, airframe, kind: All when None.

    Raises:
        UnknownNameError: If the type or the airframe is not in the store.
    """
    with store.reading() as session:
        name = find_type(load_description(session), type_name).name if type_name else None
        tag = find_airframe(session, airframe).tag if airframe is not None else None
        rows = select_climbs(session, name, kind, tag)
    return ClimbList(tuple(row for row in rows if accepted in (None, row.accepted)))


def reject_measured(store: Store, ids: Sequence[int], reason: str) -> ClimbDecision:
    """Take climbs or glides out of every pool.

    Raises:
        DataError: If a number is unknown or the reason blank; then nothing is changed.
    """
    with store.writing() as session:
        count = reject_climbs(session, ids, reason, datetime.now(UTC))
    return ClimbDecision("rejected", count, reason.strip())


def accept_measured(store: Store, ids: Sequence[int]) -> ClimbDecision:
    """Put climbs or glides back into the pools.

    Raises:
        UnknownNameError: If a number is unknown; then nothing is changed.
    """
    with store.writing() as session:
        count = accept_climbs(session, ids, datetime.now(UTC))
    return ClimbDecision("accepted", count, "")
