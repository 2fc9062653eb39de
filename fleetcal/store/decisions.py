"""Take points out of every pool, with a reason, and put them back."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store.models import CalibrationPoint


def reject_points(session: Session, ids: Iterable[int], reason: str, now: datetime) -> int:
    """Mark points as not to be used.

    Parameters
    ----------
    session : Session
        Of a writing transaction.
    ids : iterable of int
        Point ids.
    reason : str
        Why, in words; it stays with the points.
    now : datetime
        Aware time of the decision.

    Returns
    -------
    int
        How many points it was.

    Raises
    ------
    DataError
        If the reason is blank.
    UnknownNameError
        If an id is not in the store; then no point is changed.
    """
    if not reason.strip():
        raise DataError("a point is rejected for a reason, and none was given", "say why in words")
    return _decide(session, ids, accepted=False, reason=reason.strip(), now=now)


def accept_points(session: Session, ids: Iterable[int], now: datetime) -> int:
    """Mark points as good; an earlier reason goes.

    Parameters
    ----------
    session : Session
        Of a writing transaction.
    ids : iterable of int
        Point ids.
    now : datetime
        Aware time of the decision.

    Returns
    -------
    int
        How many points it was.

    Raises
    ------
    UnknownNameError
        If an id is not in the store; then no point is changed.
    """
    return _decide(session, ids, accepted=True, reason="", now=now)


def _decide(
    session: Session, ids: Iterable[int], *, accepted: bool, reason: str, now: datetime
) -> int:
    """Write one decision to all points, or to none."""
    wanted = sorted({int(point_id) for point_id in ids})
    found: list[CalibrationPoint] = []
    # Databases limit the length of a list in a query.
    for start in range(0, len(wanted), 500):
        part = wanted[start : start + 500]
        found += session.scalars(select(CalibrationPoint).where(CalibrationPoint.id.in_(part)))
    missing = sorted(set(wanted) - {point.id for point in found})
    if missing:
        shown = ", ".join(str(point_id) for point_id in missing[:5])
        raise UnknownNameError(
            f"there is no point {shown} in the store", "the list of points shows their numbers"
        )
    for point in found:
        point.accepted, point.reason, point.decided_at = accepted, reason, now
    session.flush()
    return len(found)
