"""Take the description of a fleet out of the store, always in the same order."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

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
from fleetcal.store.plain_reads import Reader, ask, day_of


def load_description(reader: Reader) -> FleetDescription:
    """Return all that the store knows about the fleet.

    Returns:
        Everything ordered by name, fits by date, handbook lines by IAS, speeds by name. Saving it
        again changes nothing. Names for what was not described are left out once nothing has them.
    """
    idle = idle_names(reader)
    engines = ask(reader, "SELECT id, name FROM engine")
    propellers = ask(reader, "SELECT id, name, pitch FROM propeller")
    return FleetDescription(
        types=_types(reader, idle),
        engines=tuple(sorted(name for number, name in engines if number not in idle["engine"])),
        propellers=tuple(
            sorted(
                (
                    PropellerDescription(name, pitch)
                    for number, name, pitch in propellers
                    if number not in idle["propeller"]
                ),
                key=lambda one: one.name,
            )
        ),
        airframes=_airframes(reader),
        handbooks=_handbooks(reader),
    )


def load_types(reader: Reader) -> tuple[TypeDescription, ...]:
    """Return the types with their static sources, by name, without what flies."""
    return _types(reader, idle_names(reader))


# Sorted here and not by the database: servers sort by their own language.


def _types(reader: Reader, idle: dict[str, frozenset[int]]) -> tuple[TypeDescription, ...]:
    """Return the types with their static sources."""
    sources: dict[int, list[StaticSourceDescription]] = {}
    query = "SELECT id, aircraft_type_id, name, description FROM static_source"
    for number, type_id, name, description in ask(reader, query):
        if number not in idle["static_source"]:
            sources.setdefault(type_id, []).append(StaticSourceDescription(name, description))
    plain = [field.name for field in fields(TypeDescription) if field.name != "static_sources"]
    described = (
        TypeDescription(
            **dict(zip(plain, row, strict=True)),
            static_sources=tuple(sorted(sources.get(number, []), key=lambda one: one.name)),
        )
        for number, *row in ask(reader, f"SELECT id, {', '.join(plain)} FROM aircraft_type")
        if number not in idle["aircraft_type"]
    )
    return tuple(sorted(described, key=lambda one: one.name))


def _airframes(reader: Reader) -> tuple[AirframeDescription, ...]:
    """Return the airframes with their fits."""
    fits: dict[int, list[FitDescription]] = {}
    names = ("static_source", "engine", "propeller", "pitot", "note")
    query = """SELECT airframe_id, from_date, static_source.name, engine.name, propeller.name,
            equipment_fit.pitot, equipment_fit.note
        FROM equipment_fit
        JOIN static_source ON static_source.id = equipment_fit.static_source_id
        JOIN engine ON engine.id = equipment_fit.engine_id
        JOIN propeller ON propeller.id = equipment_fit.propeller_id
        ORDER BY from_date"""
    for airframe_id, from_date, *row in ask(reader, query):
        fit = FitDescription(from_date=day_of(from_date), **dict(zip(names, row, strict=True)))
        fits.setdefault(airframe_id, []).append(fit)
    plain = ("tag", "registration", "note", "temperature_shows", "recovery_factor")
    own = ", ".join(f"airframe.{name}" for name in plain)
    query = f"""SELECT airframe.id, aircraft_type.name, {own}
        FROM airframe JOIN aircraft_type ON aircraft_type.id = airframe.aircraft_type_id"""
    described = (
        AirframeDescription(
            type=kind, fits=tuple(fits.get(number, ())), **dict(zip(plain, row, strict=True))
        )
        for number, kind, *row in ask(reader, query)
    )
    return tuple(sorted(described, key=lambda one: one.tag))


def _handbooks(reader: Reader) -> tuple[HandbookDescription, ...]:
    """Return the handbook tables with their lines and speeds."""
    speeds = _by_table(reader, "SELECT handbook_curve_id, name, ias_kt FROM handbook_speed")
    lines = _by_table(
        reader, "SELECT handbook_curve_id, ias_kt, cas_kt FROM handbook_point ORDER BY ias_kt"
    )
    query = """SELECT handbook_curve.id, aircraft_type.name, static_source.name, flap_setting,
            handbook_curve.name, weight_kg
        FROM handbook_curve
        JOIN aircraft_type ON aircraft_type.id = handbook_curve.aircraft_type_id
        JOIN static_source ON static_source.id = handbook_curve.static_source_id"""
    described = (
        HandbookDescription(
            type=kind,
            static_source=source,
            flap_setting=flap_setting,
            name=name,
            weight_kg=weight_kg,
            rows=tuple(lines.get(number, ())),
            speeds=tuple(sorted(speeds.get(number, ()))),
        )
        for number, kind, source, flap_setting, name, weight_kg in ask(reader, query)
    )
    return tuple(
        sorted(
            described,
            key=lambda one: (one.type, one.static_source, one.flap_setting, one.name),
        )
    )


def _by_table(reader: Reader, query: str) -> dict[int, list[Any]]:
    """Return the lines of handbook tables by the table's number, which stands first."""
    found: dict[int, list[Any]] = {}
    for number, *line in ask(reader, query):
        found.setdefault(number, []).append(tuple(line))
    return found
