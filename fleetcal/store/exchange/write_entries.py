"""Write the result of a merge into the store it was made for."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.store.cruise_rows import put_cruise_table
from fleetcal.store.description import CruiseTableDescription
from fleetcal.store.exchange.entries import UNSAID, Entry, Key, by_name, canonical, shown
from fleetcal.store.exchange.merge_rules import Merging
from fleetcal.store.exchange.moments import as_day, as_moment
from fleetcal.store.exchange.parent_rows import Parents
from fleetcal.store.exchange.write_climbs import delete_climbs, write_climbs
from fleetcal.store.exchange.write_flights import (
    delete_flights,
    write_bench_check,
    write_flights,
    write_leak_check,
)
from fleetcal.store.explained import refusals_named
from fleetcal.store.filling_in import ports_of_new_type
from fleetcal.store.models import (
    AircraftEngine,
    AircraftType,
    Airframe,
    EquipmentFit,
    HandbookCurve,
    HandbookPoint,
    HandbookSpeed,
    Propeller,
    PublishedIssue,
    ReplacedVersion,
    Sortie,
    SourceFile,
    StaticSource,
)


def write_entries(session: Session, merging: Merging, why: str, now: datetime) -> None:
    """Bring the store from what it was to the result of the merge.

    Args:
        session: Of the writing transaction in which the merge was made.
        why: Stands with what was replaced.
        now: Aware.

    Raises:
        DataError: If a value breaks a rule of the tables.
    """
    parents = Parents(session)
    for entry in reversed(by_name(merging.mine)):
        if entry.name not in merging.result:
            (delete_climbs if entry.kind == "climbs" else delete_flights)(session, entry)
    moved: set[str] = set()
    for entry in by_name(merging.result):
        own = merging.mine.get(entry.name)
        if own is not None and (own.digest, own.state) == (entry.digest, entry.state):
            continue
        with refusals_named(shown(entry)):
            _write(session, parents, own, entry, merging.given)
            session.flush()
        if entry.kind in ("airframe", "fit"):
            moved.add(str(entry.key[0]))
    _move_to_fits_in_force(session, parents, moved)
    _keep_replaced(session, merging, why, now)
    session.flush()


def _write(
    session: Session,
    parents: Parents,
    own: Entry | None,
    entry: Entry,
    given: Mapping[tuple[str, str], str],
) -> None:
    with_state = {
        "flights": write_flights,
        "climbs": write_climbs,
        "bench_check": write_bench_check,
        "leak_check": write_leak_check,
        "issue": _write_issue,
    }
    if entry.kind in with_state:
        with_state[entry.kind](session, parents, own, entry)
    elif entry.kind == "cruise_table":
        _write_cruise_table(session, entry)
    elif entry.kind == "registration":
        row = session.get(Airframe, parents.airframe(entry.key[0]))
        assert row is not None  # its number was just looked up
        row.registration = entry.content["registration"]
    elif entry.kind == "thermometer":
        row = session.get(Airframe, parents.airframe(entry.key[0]))
        assert row is not None  # likewise
        row.temperature_shows = entry.content["shows"]
        row.recovery_factor = entry.content["recovery_factor"]
    else:
        model, found, values = _described(parents, entry)
        row_id = session.scalar(select(model.id).filter_by(**found))
        row = session.get(model, row_id) if row_id is not None else None
        if row is None:
            row = model(**found, **_given(entry, given))
            session.add(row)
        for name, value in values.items():
            setattr(row, name, value)
        session.flush()
        if entry.kind == "handbook":
            _write_lines(session, row.id, entry)


def _given(entry: Entry, given: Mapping[tuple[str, str], str]) -> dict[str, str]:
    """Return owner or coordinator of a new airframe or type."""
    column = {"airframe": "owner", "type": "coordinator"}.get(entry.kind)
    name = (entry.kind, str(entry.key[0]))
    return {column: given[name]} if column is not None and name in given else {}


def _described(parents: Parents, entry: Entry) -> tuple[Any, dict[str, Any], dict[str, Any]]:
    """Return the table of a described entry, what finds its row, and the other values."""
    key, content = entry.key, dict(entry.content)
    if entry.kind == "type":
        return AircraftType, {"name": key[0]}, {"speeds_are": "", **content}
    if entry.kind == "static_source":
        return StaticSource, {"aircraft_type_id": parents.kind(key[0]), "name": key[1]}, content
    if entry.kind == "engine":
        return AircraftEngine, {"name": key[0]}, {}
    if entry.kind == "propeller":
        return Propeller, {"name": key[0]}, content
    if entry.kind == "airframe":
        values = {"aircraft_type_id": parents.kind(content["type"]), "note": content["note"]}
        return Airframe, {"tag": key[0]}, values
    if entry.kind == "fit":
        tag, day = key
        found = {"airframe_id": parents.airframe(tag), "from_date": as_day(day)}
        return EquipmentFit, found, parents.equipment(tag, content)
    if entry.kind == "file":
        state = {"added_at": as_moment(entry.state["added_at"]), "name": entry.state["name"]}
        return SourceFile, {"sha256": key[0]}, {**content, **state}
    kind = parents.kind(key[0])
    source = parents.source(key[0], key[1])
    found = {"aircraft_type_id": kind, "static_source_id": source}
    found |= {"flap_setting": key[2], "name": key[3]}
    return HandbookCurve, found, {"weight_kg": content["weight_kg"]}


def _write_lines(session: Session, curve_id: int, entry: Entry) -> None:
    """Put the lines and speeds of a handbook table in the place of those it had."""
    for model in (HandbookPoint, HandbookSpeed):
        for row in session.scalars(select(model).where(model.handbook_curve_id == curve_id)):
            session.delete(row)
    session.flush()
    session.add_all(
        HandbookPoint(handbook_curve_id=curve_id, ias_kt=ias, cas_kt=cas)
        for ias, cas in entry.content["rows"]
    )
    session.add_all(
        HandbookSpeed(handbook_curve_id=curve_id, name=name, ias_kt=ias)
        for name, ias in entry.content["speeds"]
    )


def _write_cruise_table(session: Session, entry: Entry) -> None:
    rows = tuple((power, altitude, tas) for power, altitude, tas in entry.content["rows"])
    kind, engine, propeller, name = entry.key
    weight_kg = entry.content["weight_kg"]
    table = CruiseTableDescription(
        type=kind, engine=engine, propeller=propeller, name=name, weight_kg=weight_kg, rows=rows
    )
    put_cruise_table(session, table)


def _write_issue(session: Session, parents: Parents, own: Entry | None, entry: Entry) -> None:
    kind, group, flap_setting, number = entry.key
    row = session.get(PublishedIssue, own.rows[0]) if own is not None else None
    if row is None:
        row = PublishedIssue(
            aircraft_type_id=parents.kind(kind),
            group_name=group,
            flap_setting=flap_setting,
            number=number,
        )
        session.add(row)
    values: Mapping[str, Any] = {**entry.content, **entry.state}
    for name, value in values.items():
        if name in ("issued_on", "withdrawn_on"):
            value = as_day(value) if value is not None else None
        setattr(row, name, as_moment(value) if name == "added_at" else value)


def _move_to_fits_in_force(session: Session, parents: Parents, tags: set[str]) -> None:
    """Let stored sorties refer to the fit that was in force on their day."""
    for tag in sorted(tags):
        airframe = session.get(Airframe, parents.airframe(tag))
        assert airframe is not None  # its number was just looked up
        ports_of_new_type(session, airframe)
        query = select(Sortie).where(Sortie.airframe_id == parents.airframe(tag))
        for sortie in session.scalars(query):
            sortie.equipment_fit_id = parents.fit(tag, sortie.flown_on)


def _keep_replaced(session: Session, merging: Merging, why: str, now: datetime) -> None:
    """Keep what was replaced: its content where it was here or came now, else its digest.

    With each stands by whose word it was replaced, also if that changes in this merge.
    """
    version = ReplacedVersion
    columns = (version.kind, version.thing_key, version.digest, version.id, version.by_key)
    known = {
        (kind, key, digest): rest for kind, key, digest, *rest in session.execute(select(*columns))
    }
    fresh = {
        (entry.name, digest): merging.replaced.get((entry.name, digest))
        for entry in merging.result.values()
        for digest in entry.replaced
    }
    fresh |= merging.replaced
    speaker = None if merging.authority is None else merging.authority.speaker
    for (name, digest), written in sorted(fresh.items(), key=lambda item: canonical(item[0])):
        by_key = None if (name, digest) in merging.settled else speaker
        number, before = known.get((name[0], canonical(name[1]), digest), (None, None))
        if number is not None:
            if before not in (None, by_key) and (by_key is None or _says(merging, name, digest)):
                row = session.get(ReplacedVersion, number)
                assert row is not None  # it was just read
                row.by_key = by_key
        elif digest != UNSAID:
            session.add(
                ReplacedVersion(
                    kind=name[0],
                    thing_key=canonical(name[1]),
                    digest=digest,
                    content_json=written or "",
                    why=why,
                    replaced_at=now,
                    by_key=by_key,
                )
            )


def _says(merging: Merging, name: Key, digest: str) -> bool:
    """Tell whether the share says by a word that counts that a content was replaced."""
    entry = merging.theirs.get(name)
    return entry is not None and digest in entry.replaced and merging.counts(entry)
