"""Put the power of runs into the store and find it with its points; cruise tables of handbooks."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.records import Power, values_of
from fleetcal.store.cruise_notes import CruiseRow, PowerNote
from fleetcal.store.description import CruiseTableDescription
from fleetcal.store.explained import refusals_named
from fleetcal.store.models import (
    AircraftEngine,
    AircraftType,
    CalibrationPoint,
    CruisePower,
    HandbookCruise,
    Propeller,
)
from fleetcal.store.point_rows import PointFilter, select_points
from fleetcal.store.upsert import Tally, refuse_twice


def note_powers(session: Session, notes: Iterable[PowerNote], now: datetime | None = None) -> int:
    """Note the power of runs; a power noted before is changed.

    Args:
        session: Of a writing transaction.
        now: Aware; the clock's when left out.

    Returns:
        How many were new or differ from what was noted.

    Raises:
        UnknownNameError: If there is no such point.
        DataError: If a value breaks a rule, or a point is given twice.
    """
    given = list(notes)
    refuse_twice("the power of point", (note.point_id for note in given))
    known = {row.calibration_point_id: row for row in session.scalars(select(CruisePower))}
    moment = now or datetime.now(UTC)
    changed = 0
    for note in given:
        if session.get(CalibrationPoint, note.point_id) is None:
            raise UnknownNameError(
                f"there is no point {note.point_id} in the store",
                "the list of points shows their numbers",
            )
        row = known.get(note.point_id)
        values = values_of(Power, note)
        if row is not None and all(getattr(row, n) == v for n, v in values.items()):
            continue
        if row is None:
            row = CruisePower(calibration_point_id=note.point_id, noted_at=moment, **values)
            session.add(row)
        else:
            for name, value in {**values, "noted_at": moment}.items():
                setattr(row, name, value)
        changed += 1
        with refusals_named(f"the power of point {note.point_id}"):
            session.flush()
    return changed


def forget_power(session: Session, point_id: int) -> None:
    """Take the power of a run out of the store.

    Args:
        session: Of a writing transaction.

    Raises:
        UnknownNameError: If none is noted.
    """
    row = session.scalar(select(CruisePower).where(CruisePower.calibration_point_id == point_id))
    if row is None:
        raise UnknownNameError(
            f"no power is noted for point {point_id}",
            "'fleetcal points list --quantity cruise' shows those noted",
        )
    session.delete(row)
    session.flush()


def select_cruise(session: Session, chosen: PointFilter | None = None) -> list[CruiseRow]:
    """Return the points whose power is noted.

    Args:
        chosen: All points when left out.

    Returns:
        In the order of `select_points`.
    """
    notes = {
        row.calibration_point_id: PowerNote(
            point_id=row.calibration_point_id, **values_of(Power, row)
        )
        for row in session.scalars(select(CruisePower))
    }
    points = select_points(session, chosen) if notes else []
    return [CruiseRow(p, notes[p.point_id]) for p in points if p.point_id in notes]


def load_cruise_tables(session: Session) -> tuple[CruiseTableDescription, ...]:
    """Return the cruise tables of handbooks.

    Returns:
        By type, engine, propeller and name; lines by altitude and power.
    """
    query = (
        select(HandbookCruise, AircraftType.name, AircraftEngine.name, Propeller.name)
        .join(AircraftType, AircraftType.id == HandbookCruise.aircraft_type_id)
        .join(AircraftEngine, AircraftEngine.id == HandbookCruise.engine_id)
        .join(Propeller, Propeller.id == HandbookCruise.propeller_id)
    )
    lines: dict[tuple[str, str, str, str, float], list[tuple[float, float, float]]] = {}
    for row, kind, engine, propeller in session.execute(query):
        key = (kind, engine, propeller, row.name, row.weight_kg)
        lines.setdefault(key, []).append((row.power_pct, row.pressure_altitude_ft, row.tas_kt))
    return tuple(
        CruiseTableDescription(
            type=kind,
            engine=engine,
            propeller=propeller,
            name=name,
            weight_kg=weight_kg,
            rows=tuple(sorted(rows, key=lambda one: (one[1], one[0]))),
        )
        for (kind, engine, propeller, name, weight_kg), rows in sorted(lines.items())
    )


def save_cruise_tables(
    session: Session, tables: tuple[CruiseTableDescription, ...], tally: Tally
) -> None:
    """Save cruise tables; the lines of a table that differs are replaced as a whole.

    Args:
        session: Of a writing transaction; types, engines and propellers are in it.

    Raises:
        UnknownNameError: If type, engine or propeller are not in the store.
        DataError: If a table or a line is given twice, or a value breaks a rule.
    """
    refuse_twice("cruise table", ((t.type, t.engine, t.propeller, t.name) for t in tables))
    stored = {_name(table): table for table in load_cruise_tables(session)}
    for table in tables:
        shown = " / ".join(_name(table))
        refuse_twice(f"{shown}: power and altitude", ((p, h) for p, h, _ in table.rows))
        if not table.rows:
            raise DataError(f"cruise table {shown} has no line", "write [[power, altitude, tas]]")
        before = stored.get(_name(table))
        ordered = tuple(sorted(table.rows, key=lambda one: (one[1], one[0])))
        if before is not None and (before.weight_kg, before.rows) == (table.weight_kg, ordered):
            tally.note("unchanged")
            continue
        with refusals_named(f"cruise table {shown}"):
            put_cruise_table(session, table)
        tally.note("added" if before is None else "changed")


def _name(table: CruiseTableDescription) -> tuple[str, str, str, str]:
    return table.type, table.engine, table.propeller, table.name


def _id_of(
    session: Session,
    model: type[AircraftType] | type[AircraftEngine] | type[Propeller],
    name: str,
    called: str,
) -> int:
    found = session.scalar(select(model.id).where(model.name == name))
    if found is None:
        raise UnknownNameError(
            f"there is no {called} {name!r} in the store", f"describe the {called} too"
        )
    return int(found)


def put_cruise_table(session: Session, table: CruiseTableDescription) -> None:
    """Put a cruise table into the store in the place of the lines that it had.

    Args:
        session: Of a writing transaction.

    Raises:
        UnknownNameError: If type, engine or propeller are not in the store.
    """
    keys = {
        "aircraft_type_id": _id_of(session, AircraftType, table.type, "type"),
        "engine_id": _id_of(session, AircraftEngine, table.engine, "engine"),
        "propeller_id": _id_of(session, Propeller, table.propeller, "propeller"),
    }
    query = select(HandbookCruise).filter_by(**keys, name=table.name)
    for old in session.scalars(query):
        session.delete(old)
    session.flush()
    session.add_all(
        HandbookCruise(
            **keys,
            name=table.name,
            weight_kg=table.weight_kg,
            power_pct=power,
            pressure_altitude_ft=altitude,
            tas_kt=tas,
        )
        for power, altitude, tas in table.rows
    )
    session.flush()
