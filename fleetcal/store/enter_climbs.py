"""Put measured climbs and glides into the store."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session

from fleetcal.records import Climb, values_of
from fleetcal.store.climb_models import ClimbMeasurement
from fleetcal.store.explained import refusals_named
from fleetcal.store.models import CalibrationPoint, Leg, Sortie


def add_climbs(
    session: Session, sortie_id: int, climbs: Iterable[Climb], *, now: datetime | None = None
) -> None:
    """Add the climbs and glides of a sortie.

    Args:
        session: Of a writing transaction.
        now: Aware time of adding; the clock's when left out.

    Raises:
        DataError: If a value breaks a rule.
    """
    moment = now or datetime.now(UTC)
    with refusals_named(f"climbs and glides of sortie {sortie_id}"):
        session.add_all(
            ClimbMeasurement(
                sortie_id=sortie_id, decided_at=moment, added_at=moment, **values_of(Climb, climb)
            )
            for climb in climbs
        )
        session.flush()


def count_climbs(session: Session, sortie_id: int) -> int:
    """Return how many climbs and glides of a sortie are in the store."""
    query = select(func.count()).where(ClimbMeasurement.sortie_id == sortie_id)
    return int(session.scalar(query) or 0)


def is_bare() -> ColumnElement[bool]:
    """Return the condition for sorties that hold climbs, but neither legs nor points."""
    measured, leg, point = (
        select(model.id).where(model.sortie_id == Sortie.id).correlate(Sortie).exists()
        for model in (ClimbMeasurement, Leg, CalibrationPoint)
    )
    return measured & ~leg & ~point


def is_bare_sortie(session: Session, sortie_id: int) -> bool:
    """Tell whether a sortie holds climbs, but neither legs nor points."""
    return session.scalar(select(Sortie.id).where(Sortie.id == sortie_id, is_bare())) is not None
