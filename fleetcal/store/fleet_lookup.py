"""Take the description of a fleet out of the store, always in the same order."""

from __future__ import annotations

from dataclasses import fields

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from fleetcal.store.description import (
    AirframeDescription,
    FitDescription,
    FleetDescription,
    HandbookDescription,
    PropellerDescription,
    StaticSourceDescription,
    TypeDescription,
)
from fleetcal.store.idle_names import idle_names
from fleetcal.store.models import (
    AircraftEngine,
    AircraftType,
    Airframe,
    EquipmentFit,
    HandbookCurve,
    HandbookPoint,
    HandbookSpeed,
    Propeller,
    StaticSource,
)


def load_description(session: Session) -> FleetDescription:
    """Return all that the store knows about the fleet.

    Returns:
        Everything ordered by name, fits by date, handbook lines by IAS, speeds by name. Saving it
        again changes nothing. Names for what was not described are left out once nothing has them.
    """
    types = {row.id: row for row in session.scalars(select(AircraftType))}
    idle = idle_names(session)
    engines = session.scalars(select(AircraftEngine))
    propellers = session.scalars(select(Propeller))
    return FleetDescription(
        types=_types(session, types),
        engines=tuple(sorted(row.name for row in engines if row.id not in idle[AircraftEngine])),
        propellers=tuple(
            sorted(
                (
                    PropellerDescription(row.name, row.pitch)
                    for row in propellers
                    if row.id not in idle[Propeller]
                ),
                key=lambda one: one.name,
            )
        ),
        airframes=_airframes(session, types),
        handbooks=_handbooks(session, types),
    )


def load_types(session: Session) -> tuple[TypeDescription, ...]:
    """Return the types with their static sources, by name, without what flies."""
    return _types(session, {row.id: row for row in session.scalars(select(AircraftType))})


def _types(session: Session, types: dict[int, AircraftType]) -> tuple[TypeDescription, ...]:
    """Return the types with their static sources."""
    idle = idle_names(session)
    sources: dict[int, list[StaticSourceDescription]] = {}
    for row in session.scalars(select(StaticSource)):
        if row.id in idle[StaticSource]:
            continue
        item = StaticSourceDescription(row.name, row.description)
        sources.setdefault(row.aircraft_type_id, []).append(item)
    plain = [field.name for field in fields(TypeDescription) if field.name != "static_sources"]
    described = (
        TypeDescription(
            **{name: getattr(row, name) for name in plain},
            static_sources=tuple(sorted(sources.get(row.id, []), key=lambda one: one.name)),
        )
        for row in types.values()
        if row.id not in idle[AircraftType]
    )
    # Sorted here and not by the database: servers sort by their own language.
    return tuple(sorted(described, key=lambda one: one.name))


def _airframes(session: Session, types: dict[int, AircraftType]) -> tuple[AirframeDescription, ...]:
    """Return the airframes with their fits."""
    query = (
        select(EquipmentFit)
        .options(
            joinedload(EquipmentFit.static_source),
            joinedload(EquipmentFit.engine),
            joinedload(EquipmentFit.propeller),
        )
        .order_by(EquipmentFit.from_date)
    )
    fits: dict[int, list[FitDescription]] = {}
    for row in session.scalars(query):
        item = FitDescription(
            from_date=row.from_date,
            static_source=row.static_source.name,
            engine=row.engine.name,
            propeller=row.propeller.name,
            pitot=row.pitot,
            note=row.note,
        )
        fits.setdefault(row.airframe_id, []).append(item)
    described = (
        AirframeDescription(
            tag=row.tag,
            type=types[row.aircraft_type_id].name,
            registration=row.registration,
            note=row.note,
            temperature_shows=row.temperature_shows,
            recovery_factor=row.recovery_factor,
            fits=tuple(fits.get(row.id, ())),
        )
        for row in session.scalars(select(Airframe))
    )
    return tuple(sorted(described, key=lambda one: one.tag))


def _handbooks(session: Session, types: dict[int, AircraftType]) -> tuple[HandbookDescription, ...]:
    """Return the handbook tables with their lines and speeds."""
    speeds: dict[int, list[tuple[str, float]]] = {}
    for speed in session.scalars(select(HandbookSpeed)):
        speeds.setdefault(speed.handbook_curve_id, []).append((speed.name, speed.ias_kt))
    lines: dict[int, list[tuple[float, float]]] = {}
    for point in session.scalars(select(HandbookPoint).order_by(HandbookPoint.ias_kt)):
        lines.setdefault(point.handbook_curve_id, []).append((point.ias_kt, point.cas_kt))
    query = select(HandbookCurve, StaticSource.name).join(
        StaticSource, StaticSource.id == HandbookCurve.static_source_id
    )
    described = (
        HandbookDescription(
            type=types[row.aircraft_type_id].name,
            static_source=source,
            flap_setting=row.flap_setting,
            name=row.name,
            weight_kg=row.weight_kg,
            rows=tuple(lines.get(row.id, ())),
            speeds=tuple(sorted(speeds.get(row.id, ()))),
        )
        for row, source in session.execute(query)
    )
    return tuple(
        sorted(
            described,
            key=lambda one: (one.type, one.static_source, one.flap_setting, one.name),
        )
    )
