"""Take points, climbs and glides out of every pool, with a reason, and put them back."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store.climb_models import ClimbMeasurement
from fleetcal.store.models import CalibrationPoint


def reject_points(session: Session, ids: Iterable[int], reason: str, now: datetime) -> int:
    """Mark points as not to be used.

    Args:
        session: Of a writing transaction.
        ids: Point ids.
        reason: Why, in words; it stays with the points.
        now: Aware time of the decision.

    Returns:
        How many points it was.

    Raises:
        DataError: If the reason is blank.
        UnknownNameError: If an id is not in the store; then no point is changed.
    """
    return _decide(session, CalibrationPoint, ids, _reason("points", reason), now)


def accept_points(session: Session, ids: Iterable[int], now: datetime) -> int:
    """Mark points as good; an earlier reason goes.

    Args:
        session: Of a writing transaction.
        ids: Point ids.
        now: Aware time of the decision.

    Returns:
        How many points it was.

    Raises:
        UnknownNameError: If an id is not in the store; then no point is changed.
    """
    return _decide(session, CalibrationPoint, ids, None, now)


def reject_climbs(session: Session, ids: Iterable[int], reason: str, now: datetime) -> int:
    """Mark climbs or glides as not to be used.

    Args:
        session: Of a writing transaction.
        reason: Why, in words; it stays with them.
        now: Aware time of the decision.

    Returns:
        How many it was.

    Raises:
        DataError: If the reason is blank.
        UnknownNameError: If an id is not in the store; then none is changed.
    """
    return _decide(session, ClimbMeasurement, ids, _reason("climbs or glides", reason), now)


def accept_climbs(session: Session, ids: Iterable[int], now: datetime) -> int:
    """Mark climbs or glides as good; an earlier reason goes.

    Args:
        session: Of a writing transaction.
        now: Aware time of the decision.

    Returns:
        How many it was.

    Raises:
        UnknownNameError: If an id is not in the store; then none is changed.
    """
    return _decide(session, ClimbMeasurement, ids, None, now)


def _reason(rows: str, reason: str) -> str:
    if not reason.strip():
        raise DataError(f"no reason was given for rejecting {rows}", "say why in words")
    return reason.strip()


def _decide(
    session: Session,
    model: type[CalibrationPoint] | type[ClimbMeasurement],
    ids: Iterable[int],
    reason: str | None,
    now: datetime,
) -> int:
    """Write one decision to all, or to none; without a reason they are accepted."""
    numbers = sorted({int(number) for number in ids})
    found: list[CalibrationPoint | ClimbMeasurement] = []
    # Databases limit the length of a list in a query.
    for start in range(0, len(numbers), 500):
        found += session.scalars(select(model).where(model.id.in_(numbers[start : start + 500])))
    missing = sorted(set(numbers) - {row.id for row in found})
    if missing:
        shown = ", ".join(str(number) for number in missing[:5])
        what, where = _NAMES[model]
        raise UnknownNameError(
            f"there is no {what} {shown} in the store", f"the list of {where} shows their numbers"
        )
    for row in found:
        row.accepted, row.reason, row.decided_at = reason is None, reason or "", now
    session.flush()
    return len(found)


_NAMES = {
    CalibrationPoint: ("point", "points"),
    ClimbMeasurement: ("climb or glide", "climbs and glides"),
}
