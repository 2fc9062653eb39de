"""Put the description of a fleet into the store."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import fields
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store.airframe_rows import save_airframes
from fleetcal.store.cruise_rows import save_cruise_tables
from fleetcal.store.description import (
    FleetDescription,
    HandbookDescription,
    SaveCounts,
    TypeDescription,
)
from fleetcal.store.models import (
    AircraftEngine,
    AircraftType,
    HandbookCurve,
    HandbookPoint,
    HandbookSpeed,
    Propeller,
    StaticSource,
)
from fleetcal.store.names import known_id
from fleetcal.store.upsert import Shelf, Tally, refuse_twice


def save_description(session: Session, description: FleetDescription) -> SaveCounts:
    """Add what the store does not have yet and change what differs; nothing is removed.

    Args:
        session: Of a writing transaction.

    Returns:
        Over types, static sources, engines, propellers, airframes, fits and handbook tables.

    Raises:
        UnknownNameError: If something refers to a name that neither the description nor the store
            has.
        DataError: If a thing is described twice, a value breaks a rule, or what sorties were flown
            with would change under them.
    """
    tally = Tally()
    type_ids, source_ids = _save_types(session, description.types, tally)
    engines: list[tuple[str, dict[str, str]]] = [(name, {}) for name in description.engines]
    engine_ids = _save_named(session, AircraftEngine, engines, "engine", tally)
    propellers = [(one.name, {"pitch": one.pitch}) for one in description.propellers]
    propeller_ids = _save_named(session, Propeller, propellers, "propeller", tally)
    save_airframes(
        session,
        description.airframes,
        tally,
        type_ids=type_ids,
        source_ids=source_ids,
        engine_ids=engine_ids,
        propeller_ids=propeller_ids,
    )
    _save_handbooks(session, description.handbooks, tally, type_ids, source_ids)
    if description.cruise_tables:
        save_cruise_tables(session, description.cruise_tables, tally)
    return tally.result()


def _save_named(
    session: Session,
    model: type[AircraftEngine] | type[Propeller],
    named: Sequence[tuple[str, dict[str, str]]],
    called: str,
    tally: Tally,
) -> dict[str, int]:
    """Save engines or propellers, each a name and other values; return all ids by name."""
    refuse_twice(called, (name for name, _ in named))
    shelf: Shelf[Any] = Shelf(session, model, ("name",), called)
    for name, values in named:
        _, outcome = shelf.put((name,), values, shown=name)
        tally.note(outcome)
    return {row.name: row.id for row in shelf.rows.values()}


def _save_types(
    session: Session, types: tuple[TypeDescription, ...], tally: Tally
) -> tuple[dict[str, int], dict[tuple[str, str], int]]:
    """Save types with their static sources; return all ids by (type and) name."""
    refuse_twice("type", (item.name for item in types))
    shelf = Shelf(session, AircraftType, ("name",), "type")
    sources = Shelf(session, StaticSource, ("aircraft_type_id", "name"), "static source")
    plain = [
        field.name
        for field in fields(TypeDescription)
        if field.name not in ("name", "static_sources")
    ]
    for item in types:
        values = {name: getattr(item, name) for name in plain}
        row, outcome = shelf.put((item.name,), values, shown=item.name)
        tally.note(outcome)
        refuse_twice(
            f"{item.name}'s static source", (source.name for source in item.static_sources)
        )
        for source in item.static_sources:
            _, outcome = sources.put(
                (row.id, source.name),
                {"description": source.description},
                shown=f"{item.name} / {source.name}",
            )
            tally.note(outcome)
        _require_port(item, {name for owner, name in sources.rows if owner == row.id})
    type_names = {row.id: row.name for row in shelf.rows.values()}
    source_ids = {
        (type_names[row.aircraft_type_id], row.name): row.id for row in sources.rows.values()
    }
    return {name: key for key, name in type_names.items()}, source_ids


def _require_port(item: TypeDescription, known: Collection[Any]) -> None:
    """Refuse speeds that are said to be the IAS of a port that the type has not."""
    if item.speeds_port and item.speeds_port not in known:
        raise UnknownNameError(
            f"type {item.name}: its speeds are given as {item.speeds_are!r}, but it has no such "
            "static source",
            f"known: {', '.join(sorted(known))}" if known else "describe its static sources",
        )


def _save_handbooks(
    session: Session,
    handbooks: tuple[HandbookDescription, ...],
    tally: Tally,
    type_ids: Mapping[str, int],
    source_ids: Mapping[tuple[str, str], int],
) -> None:
    """Save handbook tables; the lines of a table that differs are replaced as a whole."""
    key = ("aircraft_type_id", "static_source_id", "flap_setting", "name")
    refuse_twice(
        "handbook table",
        ((item.type, item.static_source, item.flap_setting, item.name) for item in handbooks),
    )
    shelf = Shelf(session, HandbookCurve, key, "handbook table")
    stored = _stored_lines(session)
    named = _stored_speeds(session) if any(item.speeds for item in handbooks) else {}
    for item in handbooks:
        shown = f"{item.type} / {item.static_source} / {item.flap_setting} / {item.name}"
        rows = _in_order(item, shown)
        type_id = known_id("type", item.type, type_ids)
        source_id = known_id(
            f"static source of {item.type}",
            item.static_source,
            {name: value for (kind, name), value in source_ids.items() if kind == item.type},
        )
        curve, outcome = shelf.put(
            (type_id, source_id, item.flap_setting, item.name),
            {"weight_kg": item.weight_kg},
            shown=shown,
        )
        if stored.get(curve.id, []) != rows:
            _replace_lines(session, curve.id, rows)
            outcome = "changed" if outcome == "unchanged" else outcome
        if item.speeds and named.get(curve.id, []) != sorted(item.speeds):
            _replace_speeds(session, curve.id, item, shown)
            outcome = "changed" if outcome == "unchanged" else outcome
        tally.note(outcome)


def _stored_speeds(session: Session) -> dict[int, list[tuple[str, float]]]:
    """Return the speeds of all handbook tables by table, by name."""
    speeds: dict[int, list[tuple[str, float]]] = {}
    for row in session.scalars(select(HandbookSpeed)):
        speeds.setdefault(row.handbook_curve_id, []).append((row.name, row.ias_kt))
    return {key: sorted(rows) for key, rows in speeds.items()}


def _replace_speeds(session: Session, curve_id: int, item: HandbookDescription, shown: str) -> None:
    """Put new speeds in the place of a table's old ones."""
    refuse_twice(f"handbook table {shown}: speed", (name for name, _ in item.speeds))
    for name, ias_kt in item.speeds:
        if not (name.strip() and ias_kt > 0.0):
            raise DataError(
                f"handbook table {shown}: the speed {name!r}, {ias_kt:g} kt lacks name or value",
                "every speed needs a name and an IAS in knots above zero",
            )
    for old in session.scalars(
        select(HandbookSpeed).where(HandbookSpeed.handbook_curve_id == curve_id)
    ):
        session.delete(old)
    session.flush()
    session.add_all(
        HandbookSpeed(handbook_curve_id=curve_id, name=name, ias_kt=ias_kt)
        for name, ias_kt in item.speeds
    )
    session.flush()


def _stored_lines(session: Session) -> dict[int, list[tuple[float, float]]]:
    """Return the lines of all handbook tables by table, slowest first."""
    lines: dict[int, list[tuple[float, float]]] = {}
    query = select(HandbookPoint).order_by(HandbookPoint.handbook_curve_id, HandbookPoint.ias_kt)
    for point in session.scalars(query):
        lines.setdefault(point.handbook_curve_id, []).append((point.ias_kt, point.cas_kt))
    return lines


def _in_order(item: HandbookDescription, shown: str) -> list[tuple[float, float]]:
    """Return a table's lines, slowest first.

    Raises:
        DataError: If a speed is not above zero or an IAS is given twice.
    """
    rows = sorted((float(ias_kt), float(cas_kt)) for ias_kt, cas_kt in item.rows)
    for ias_kt, cas_kt in rows:
        if not (ias_kt > 0.0 and cas_kt > 0.0):
            raise DataError(
                f"handbook table {shown}: the line {ias_kt:g}, {cas_kt:g} kt is not two speeds",
                "every line is IAS and CAS in knots, both above zero",
            )
    refuse_twice(f"handbook table {shown}: IAS", (ias_kt for ias_kt, _ in rows))
    return rows


def _replace_lines(session: Session, curve_id: int, rows: list[tuple[float, float]]) -> None:
    """Put new lines in the place of a table's old ones."""
    for old in session.scalars(
        select(HandbookPoint).where(HandbookPoint.handbook_curve_id == curve_id)
    ):
        session.delete(old)
    session.flush()
    session.add_all(
        HandbookPoint(handbook_curve_id=curve_id, ias_kt=ias_kt, cas_kt=cas_kt)
        for ias_kt, cas_kt in rows
    )
    session.flush()
