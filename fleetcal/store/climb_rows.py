"""Put measured climbs and glides into the store, and find them with their equipment."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import ClassVar

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session

from fleetcal.records import Climb, names_of, values_of
from fleetcal.store.climb_models import ClimbMeasurement
from fleetcal.store.explained import refusals_named
from fleetcal.store.flown_equipment import FLOWN, with_equipment
from fleetcal.store.leak_rows import barred_sorties
from fleetcal.store.models import AircraftType, Airframe, CalibrationPoint, Leg, Propeller, Sortie


@dataclass(frozen=True, kw_only=True, slots=True)
class StoredClimb(Climb):
    """A measured climb or glide with its airframe and equipment.

    `propeller_pitch` is empty where nobody said; `barred` says why a failed leak check
    keeps it out of every pool.
    """

    climb_id: int
    sortie_id: int
    airframe: str
    type: str
    static_source: str
    engine: str
    propeller: str
    propeller_pitch: str
    flown_on: date
    source_name: str
    decided_at: datetime
    barred: str = ""

    LISTED: ClassVar = (
        *("climb_id", "sortie_id", "airframe", "type", "static_source", "engine", "propeller"),
        *("propeller_pitch", "flown_on", "source_name"),
        *(*names_of(Climb), "decided_at", "barred"),
    )


_NAMED = {
    "climb_id": ClimbMeasurement.id,
    **FLOWN,
    "propeller_pitch": Propeller.pitch,
}


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


def select_climbs(
    session: Session,
    type_name: str | None = None,
    kind: str | None = None,
    airframe: str | None = None,
) -> list[StoredClimb]:
    """Return the climbs and glides of a type.

    Args:
        type_name: All types when left out.
        kind: ``climb`` or ``glide``; both when left out.
        airframe: Tag; all when left out.

    Returns:
        By day, sortie and number.
    """
    own = (*names_of(Climb), "decided_at")
    columns = [column.label(name) for name, column in _NAMED.items()]
    columns += [getattr(ClimbMeasurement, name) for name in own]
    query = with_equipment(select(*columns), ClimbMeasurement).order_by(
        Sortie.flown_on, Sortie.id, ClimbMeasurement.number
    )
    if type_name is not None:
        query = query.where(AircraftType.name == type_name)
    if kind is not None:
        query = query.where(ClimbMeasurement.kind == kind)
    if airframe is not None:
        query = query.where(Airframe.tag == airframe)
    barred = barred_sorties(session)
    return [
        StoredClimb(**row._mapping, barred=barred.get(row.sortie_id, ""))
        for row in session.execute(query)
    ]


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
