"""Read what was done to the store, and take a change back.

The steps of each row are followed backwards, because SQLite gives a freed number again
within one change. A change that was taken back stays listed. History stays in its store and
is not shared.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import Date, Table, delete, insert, select, update
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store.column_types import UtcDateTime
from fleetcal.store.explained import refusals_named
from fleetcal.store.history_recording import user_name
from fleetcal.store.models import Base, CalibrationPoint, ChangedRow, StoreChange, UncertaintyTerm
from fleetcal.store.renumbering import give_run_numbers
from fleetcal.store.term_owners import with_owner

_PARTS = {
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


@dataclass(frozen=True, kw_only=True)
class HistoryLine:
    """One row that a change added, changed or removed; `undone` is empty while it stands."""

    change: int
    made_at: datetime
    made_by: str
    command: str
    act: str
    table: str
    row_id: int
    airframe: str
    values: str
    undone: str


def list_history(
    session: Session, airframe: str | None = None, point_id: int | None = None
) -> list[HistoryLine]:
    """Return what was done, oldest first.

    Args:
        airframe: Only what concerns this tag.
        point_id: Only what concerns this point: its flight's arrival, decisions on it, and the
            power of its run.

    Raises:
        UnknownNameError: If there is no such point.
    """
    query = select(ChangedRow, StoreChange).join(
        StoreChange, StoreChange.id == ChangedRow.store_change_id
    )
    if airframe is not None:
        query = query.where(ChangedRow.airframe == airframe)
    if point_id is not None:
        point = session.get(CalibrationPoint, point_id)
        if point is None:
            raise UnknownNameError(f"there is no point {point_id} in the store")
        own = (ChangedRow.table_name == "calibration_point") & (ChangedRow.row_id == point_id)
        flight = (ChangedRow.table_name == "sortie") & (ChangedRow.row_id == point.sortie_id)
        power = ChangedRow.id.in_(_changes_of_power(session, point_id))
        query = query.where(own | flight | power)
    return [
        HistoryLine(
            change=change.id,
            made_at=change.made_at,
            made_by=change.made_by,
            command=change.act,
            act=row.act,
            table=row.table_name,
            row_id=row.row_id,
            airframe=row.airframe,
            values=row.values_json,
            undone=change.undone,
        )
        for row, change in session.execute(query.order_by(ChangedRow.id))
    ]


def _changes_of_power(session: Session, point_id: int) -> list[int]:
    """Return the numbers of the changed rows that were the power of a point.

    A power that was forgotten may leave its number to that of another point, so each
    row belongs to the point that was told when a row of its number was last added.
    """
    query = select(ChangedRow, StoreChange.undone).join(
        StoreChange, StoreChange.id == ChangedRow.store_change_id
    )
    owners: dict[int, int] = {}
    found = []
    for row, undone in session.execute(
        query.where(ChangedRow.table_name == "cruise_power").order_by(ChangedRow.id)
    ):
        values = json.loads(row.values_json) if row.values_json and row.act != "changed" else {}
        owner = values.get("calibration_point_id", owners.get(row.row_id))
        if owner == point_id:
            found.append(row.id)
        if owner is not None and (row.act == "added" and not undone):
            owners[row.row_id] = owner
    return found


def undo_change(session: Session, number: int | None) -> tuple[int, int]:
    """Take a change back: remove what it added, and give back what it changed or removed.

    Args:
        session: Of a writing transaction.
        number: None for the newest that stands. When it was taken back, and by whom, stands with it
            from then on.

    Returns:
        change, rows: Its number, and how many rows it was.

    Raises:
        UnknownNameError: If there is no such change.
        DataError: If it was taken back before, or something later rests on it.
    """
    newest = select(StoreChange.id).where(StoreChange.undone == "").order_by(StoreChange.id.desc())
    chosen_number = number if number is not None else session.scalar(newest.limit(1))
    change = session.get(StoreChange, chosen_number) if chosen_number is not None else None
    if change is None:
        raise UnknownNameError(
            "there is no such change in the store", "'fleetcal show history' lists"
        )
    if change.undone:
        raise DataError(f"change {change.id} was taken back already", "nothing to do")
    query = select(ChangedRow).where(ChangedRow.store_change_id == change.id)
    rows = list(session.scalars(query.order_by(ChangedRow.id)))
    absent, deleted, parts = _as_before(rows)
    if any(table == "kept_log" for table, _ in deleted):
        raise DataError(
            f"change {change.id} dropped a log, which cannot be brought back",
            "keep it again with 'fleetcal logs keep' if you have the file",
        )
    gone = set(_with_parts(session, absent)) | deleted.keys()
    touched = {*gone, *parts}
    _refuse_touched_since(session, change, touched)
    with refusals_named(f"change {change.id} cannot be taken back"):
        _put_back(session, gone, deleted, parts)
    undone = f"{datetime.now(UTC):%Y-%m-%d %H:%M:%S} UTC by {user_name()}"
    # Not as an object: taking back is not itself a change to be taken back.
    mark = update(StoreChange).where(StoreChange.id == change.id).values(undone=undone)
    session.execute(mark.execution_options(synchronize_session=False))
    # A former version may have counted the points that come back over the solved runs only.
    flights = {v["sortie_id"] for (name, _), v in deleted.items() if name == "calibration_point"}
    give_run_numbers(session.connection(), flights)
    session.expire_all()
    return change.id, len(rows)


Row = tuple[str, int]


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
        for part, column in _PARTS.get(name, ()):
            table = _table(part)
            found = session.scalars(select(table.c.id).where(table.c[column] == row_id))
            yield from _with_parts(session, [(part, number) for number in found])


def _refuse_touched_since(
    session: Session, change: StoreChange, touched: set[tuple[str, int]]
) -> None:
    query = (
        select(ChangedRow)
        .join(StoreChange, StoreChange.id == ChangedRow.store_change_id)
        .where(ChangedRow.store_change_id > change.id, StoreChange.undone == "")
    )
    for row in session.scalars(query.order_by(ChangedRow.id)):
        if (row.table_name, row.row_id) in touched:
            raise DataError(
                f"change {change.id} cannot be taken back: change {row.store_change_id} touched"
                f" {row.table_name} {row.row_id} since",
                "take the later change back first",
            )
