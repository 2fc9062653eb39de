"""Fill in what of an airframe was not described yet, and let its flights follow.

What was described stays under stored flights; a name that states that nothing was described may
give way to another, because nobody learns from it what was flown.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.store.models import (
    AircraftEngine,
    AircraftType,
    Airframe,
    Base,
    EquipmentFit,
    HandbookCurve,
    Propeller,
    Sortie,
    StaticSource,
)
from fleetcal.store.undescribed import is_undescribed

_NAMED: Final[Mapping[str, type[Base]]] = {
    "aircraft_type_id": AircraftType,
    "static_source_id": StaticSource,
    "engine_id": AircraftEngine,
    "propeller_id": Propeller,
}


def is_open(session: Session, row: Airframe | EquipmentFit, column: str) -> bool:
    """Tell whether a column of a row holds what was not described yet.

    Args:
        column: That refers to a type, static source, engine or propeller, or ``pitot``.
    """
    value = getattr(row, column)
    if column not in _NAMED:
        return not value
    named: Any = session.get(_NAMED[column], value)
    return named is not None and is_undescribed(str(named.name))


def ports_of_new_type(session: Session, airframe: Airframe) -> None:
    """Give an airframe whose type was filled in the static sources of the new type.

    Fits, and handbook tables of the former static sources, go to those of the same names.

    Args:
        airframe: With its new type.
    """
    query = (
        select(EquipmentFit, StaticSource)
        .join(StaticSource, StaticSource.id == EquipmentFit.static_source_id)
        .where(
            EquipmentFit.airframe_id == airframe.id,
            StaticSource.aircraft_type_id != airframe.aircraft_type_id,
        )
    )
    for fit, port in session.execute(query).all():
        own = _like_named(session, airframe.aircraft_type_id, port)
        fit.static_source_id = own.id
        books_follow(session, port.id, own)
    session.flush()


def books_follow(session: Session, former_id: int, port: StaticSource) -> None:
    """Give the handbook tables of a static source that nothing has any more to another."""
    session.flush()
    former = session.get(StaticSource, former_id)
    used = session.scalar(
        select(EquipmentFit.id).where(EquipmentFit.static_source_id == former_id).limit(1)
    )
    if former is None or former_id == port.id or used is not None:
        return
    taken = {
        (book.flap_setting, book.name)
        for book in session.scalars(
            select(HandbookCurve).where(HandbookCurve.static_source_id == port.id)
        )
    }
    query = select(HandbookCurve).where(HandbookCurve.static_source_id == former_id)
    for book in session.scalars(query).all():
        if (book.flap_setting, book.name) not in taken:
            book.aircraft_type_id, book.static_source_id = port.aircraft_type_id, port.id


def _like_named(session: Session, type_id: int, port: StaticSource) -> StaticSource:
    query = select(StaticSource).where(
        StaticSource.aircraft_type_id == type_id, StaticSource.name == port.name
    )
    own = session.scalar(query)
    if own is None:
        own = StaticSource(aircraft_type_id=type_id, name=port.name, description=port.description)
        session.add(own)
        session.flush()
    return own


def sorties_follow(session: Session, airframe: Airframe) -> None:
    """Let the stored sorties of an airframe count under the fit in force on their day."""
    query = (
        select(EquipmentFit)
        .where(EquipmentFit.airframe_id == airframe.id)
        .order_by(EquipmentFit.from_date)
    )
    fits = session.scalars(query).all()
    for sortie in session.scalars(select(Sortie).where(Sortie.airframe_id == airframe.id)).all():
        begun = [fit.id for fit in fits if fit.from_date <= sortie.flown_on]
        if begun and sortie.equipment_fit_id != begun[-1]:
            sortie.equipment_fit_id = begun[-1]
    session.flush()
