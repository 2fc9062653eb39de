"""Take a change back, as a change of its own: the former one stays as it was written.

The steps of each row are followed backwards, because SQLite gives a freed number again
within one change.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from typing import Any, NamedTuple

from sqlalchemy import Date, Table, delete, insert, select, update
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store.column_types import UtcDateTime
from fleetcal.store.explained import refusals_named
from fleetcal.store.history_recording import recorder_of
from fleetcal.store.history_standing import Outcomes, outcomes_of
from fleetcal.store.models import Base, ChangedRow, StoreChange, UncertaintyTerm
from fleetcal.store.renumbering import give_run_numbers
from fleetcal.store.row_digests import LEFT_OUT, PARTS, Unit
from fleetcal.store.term_owners import with_owner
from fleetcal.store.who_writes import who_writes

Row = tuple[str, int]

_BELONG = {
    "sortie": (
        ("leg", "sortie_id"),
        ("calibration_point", "sortie_id"),
        ("climb_measurement", "sortie_id"),
    ),
    "calibration_point": (
        ("uncertainty_term", "calibration_point_id"),
        ("cruise_power", "calibration_point_id"),
    ),
    "bench_check": (("bench_row", "bench_check_id"),),
    "source_file": (("kept_log", "source_file_id"),),
    "kept_log": (("log_piece", "kept_log_id"),),
}


class TakenBack(NamedTuple):
    """A change that was taken back: its number, how many rows it was, and whose."""

    change: int
    rows: int
    made_by: str


def undo_change(session: Session, number: int | None, *, of_others: bool = False) -> TakenBack:
    """Take a change back: remove what it added, and give back what it changed or removed.

    Args:
        session: Of a writing transaction.
        number: None for the newest that stands.
        of_others: Whether another person's change may be taken back.

    Raises:
        UnknownNameError: If there is no such change.
        DataError: If it was taken back before, something later rests on it, or it is not one's own.
    """
    became = outcomes_of(session)
    change = _chosen(session, number, became)
    query = select(ChangedRow).where(ChangedRow.store_change_id == change.id)
    rows = list(session.scalars(query.order_by(ChangedRow.id)))
    absent, deleted, parts = _as_before(rows)
    if any(table == "kept_log" for table, _ in deleted):
        raise DataError(
            f"change {change.id} dropped a log, which cannot be brought back",
            _next_one(session, change, became)
            + "keep the log again with 'fleetcal logs keep' if you have the file",
        )
    _refuse_of_others(session, change, of_others)
    gone = set(_with_parts(session, absent)) | deleted.keys()
    touched = {*gone, *parts}
    _refuse_touched_since(session, change, touched, became)
    units = set(_units(session, touched))
    with refusals_named(f"change {change.id} cannot be taken back"):
        _put_back(session, gone, deleted, parts)
    # A former version may have counted the points that come back over the solved runs only.
    flights = {v["sortie_id"] for (name, _), v in deleted.items() if name == "calibration_point"}
    give_run_numbers(session.connection(), flights)
    recorder = recorder_of(session)
    if recorder is not None:
        recorder.note_history("changed", change.id)
        recorder.touch(units.union(_units(session, touched)))
    done = TakenBack(change.id, len(rows), change.made_by)
    session.expire_all()
    return done


def _chosen(session: Session, number: int | None, became: Outcomes) -> StoreChange:
    """Return the change that is meant.

    Raises:
        UnknownNameError, DataError: If there is none, or it does not stand.
    """
    if number is None:
        number = _newest(session, became)
    change = session.get(StoreChange, number) if number is not None else None
    if change is None:
        raise UnknownNameError(
            "there is no such change in the store", "'fleetcal show history' lists"
        )
    if change.id in became.taken_back:
        raise DataError(f"change {change.id} was taken back already", "nothing to do")
    if change.id in became.of_history:
        raise DataError(
            f"change {change.id} is about the history itself: it took a change back, or brought a "
            "backup back",
            "do again what was taken back",
        )
    return change


def _newest(session: Session, became: Outcomes, before: int | None = None) -> int | None:
    """Return the number of the newest change that stands, of those before one if it is given."""
    query = select(StoreChange.id).order_by(StoreChange.id.desc())
    if before is not None:
        query = query.where(StoreChange.id < before)
    return next((number for number in session.scalars(query) if became.stands(number)), None)


def _next_one(session: Session, change: StoreChange, became: Outcomes) -> str:
    """Return how to take back what was done before a change that cannot be."""
    number = _newest(session, became, before=change.id)
    before = session.get(StoreChange, number) if number is not None else None
    if before is None:
        return ""
    return f"'fleetcal undo {before.id}' takes back the one before it ({before.act}); "


def _refuse_of_others(session: Session, change: StoreChange, of_others: bool) -> None:
    me = who_writes(session.connection()).name
    if change.made_by != me and not of_others:
        raise DataError(
            f"change {change.id} was made by {change.made_by}, not by you ({me}): {change.act}",
            f"'fleetcal undo {change.id} --of-others' takes it back all the same",
        )


def _units(session: Session, rows: Iterable[Row]) -> Iterator[Unit]:
    """Yield what rows are taken together with, as far as they are there; see `row_digests`."""
    for name, row_id in rows:
        number: int | None = row_id
        while name in PARTS and number is not None:
            column, above = PARTS[name]
            query = select(_table(name).c[column]).where(_table(name).c.id == number)
            number, name = session.scalar(query), above
        if number is not None and name not in LEFT_OUT:
            yield name, number


def _as_before(
    rows: list[ChangedRow],
) -> tuple[set[Row], dict[Row, dict[str, Any]], dict[Row, dict[str, Any]]]:
    """Return which rows were not there, which were and are gone, and which had other values.

    A number may have been given again within one change, so the steps of a row are
    followed backwards, one by one.
    """
    absent: set[Row] = set()
    deleted: dict[Row, dict[str, Any]] = {}
    parts: dict[Row, dict[str, Any]] = {}
    for row in reversed(rows):
        name = (row.table_name, row.row_id)
        if row.act == "added":
            deleted.pop(name, None)
            parts.pop(name, None)
            absent.add(name)
        elif row.act == "removed":
            parts.pop(name, None)
            deleted[name] = json.loads(row.values_json)
        else:
            before = {key: pair[0] for key, pair in json.loads(row.values_json).items()}
            (deleted if name in deleted else parts).setdefault(name, {}).update(before)
    return absent, deleted, parts


def _put_back(
    session: Session,
    gone: set[Row],
    deleted: dict[Row, dict[str, Any]],
    parts: dict[Row, dict[str, Any]],
) -> None:
    """Write other values first, then remove, then bring back: what is referred to is there."""
    for (name, row_id), before in parts.items():
        table = _table(name)
        values = _values(table, before)
        session.execute(update(table).where(table.c.id == row_id).values(values))
    order = {table.name: i for i, table in enumerate(Base.metadata.sorted_tables)}
    for name, row_id in sorted(gone, key=lambda one: order[one[0]], reverse=True):
        session.execute(delete(_table(name)).where(_table(name).c.id == row_id))
    for name, row_id in sorted(deleted, key=lambda one: (order[one[0]], one[1])):
        table = _table(name)
        session.execute(insert(table).values(_values(table, deleted[name, row_id])))


def _table(name: str) -> Table:
    return Base.metadata.tables[name]


def _values(table: Table, held: dict[str, Any]) -> dict[str, Any]:
    """Return values from JSON as the columns take them."""
    values = with_owner(held) if table.name == UncertaintyTerm.__tablename__ else dict(held)
    for name, value in list(values.items()):
        kind = table.c[name].type
        if value is not None and isinstance(kind, UtcDateTime):
            values[name] = datetime.fromisoformat(value)
        elif value is not None and isinstance(kind, Date):
            values[name] = date.fromisoformat(value)
    return values


def _with_parts(session: Session, rows: Iterable[tuple[str, int]]) -> Iterable[tuple[str, int]]:
    """Yield rows and all that belongs to them."""
    for name, row_id in rows:
        yield name, row_id
        for part, column in _BELONG.get(name, ()):
            table = _table(part)
            found = session.scalars(select(table.c.id).where(table.c[column] == row_id))
            yield from _with_parts(session, [(part, number) for number in found])


def _refuse_touched_since(
    session: Session, change: StoreChange, touched: set[Row], became: Outcomes
) -> None:
    query = select(ChangedRow).where(ChangedRow.store_change_id > change.id)
    for row in session.scalars(query.order_by(ChangedRow.id)):
        later = became.stands(row.store_change_id)
        if later and (row.table_name, row.row_id) in touched:
            raise DataError(
                f"change {change.id} cannot be taken back: change {row.store_change_id} touched"
                f" {row.table_name} {row.row_id} since",
                "take the later change back first",
            )
