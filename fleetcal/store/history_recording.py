"""Write down, in the same transaction, what a writing transaction does to rows.

A listener on the session notes every row, so no writer can forget it. Legs, points and
budgets that come with a new flight are not noted apart from it; they are when they go, and
when they come under a flight that was there. Statements that bypass the session's objects
would not be noted, so rows are deleted as objects; restoring a backup is the exception and
brings the backup's own history.

Of everything that was touched, parts too, the digest of what then stands there is kept with the
change, and the change is linked to the one before it (`history_chain`).
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import event, insert, select
from sqlalchemy import inspect as look_at
from sqlalchemy.orm import Session

from fleetcal.store.acts import ACT
from fleetcal.store.history_chain import CHANGE_VALUES, add_link, content_of
from fleetcal.store.models import (
    Airframe,
    Base,
    BenchRow,
    CalibrationPoint,
    ChangedRow,
    ClimbMeasurement,
    CruisePower,
    Leg,
    RowState,
    Sortie,
    StoreChange,
    UncertaintyTerm,
)
from fleetcal.store.row_digests import LEFT_OUT, PARTS, Unit, digests_of
from fleetcal.store.who_writes import who_writes

_RECORDER = "recorder"
# Added with what they belong to, and gone with it.
_PARTS: dict[type[Base], tuple[str, str]] = {
    Leg: ("sortie", "sortie_id"),
    CalibrationPoint: ("sortie", "sortie_id"),
    UncertaintyTerm: ("calibration_point", "calibration_point_id"),
    BenchRow: ("bench_check", "bench_check_id"),
}

# Of rows whose number does not outlive them: what they belong to.
_KEPT_WHEN_ADDED: dict[type[Base], tuple[str, ...]] = {CruisePower: ("calibration_point_id",)}


class Recorder:
    """Collects what a session flushes, and writes it down at the end."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._rows: list[dict[str, Any]] = []
        self._airframes: list[int | None] = []
        session.info[_RECORDER] = self
        self._fresh: set[Unit] = set()
        self._touched: set[Unit] = set()
        self._without_airframe: set[Unit] = set()
        event.listen(session, "before_flush", self._before)
        event.listen(session, "after_flush", self._after)

    def _before(self, session: Session, *_: object) -> None:
        for row in session.dirty:
            changes = _changes(row)
            if changes and isinstance(row, Base):
                self._note("changed", row, changes)
                self._touch_former(row, changes)
                if isinstance(row, Sortie) and "airframe_id" in changes:
                    # It concerns the airframe that it leaves as well.
                    self._note("changed", row, changes)
                    self._airframes[-1] = changes["airframe_id"][0]
        for row in session.deleted:
            self._note("removed", row, {c.key: plain(getattr(row, c.key)) for c in _columns(row)})

    def _after(self, session: Session, *_: object) -> None:
        for row in session.new:
            if not self._is_part_of_new(row):
                values = {n: getattr(row, n) for n in _KEPT_WHEN_ADDED.get(type(row), ())}
                self._note("added", row, values or None)
            self._fresh.add((row.__tablename__, row.id))

    def _is_part_of_new(self, row: Any) -> bool:
        """Tell whether a row belongs to one that this transaction added."""
        table, column = _PARTS.get(type(row), ("", ""))
        return bool(table) and (table, getattr(row, column)) in self._fresh

    def _touch(self, row: Any) -> Unit | None:
        """Note that a row, or what it is a part of, is not what it was, and return which."""
        table, number = row.__tablename__, row.id
        while table in PARTS:
            column, table = PARTS[table]
            number = getattr(row, column)
            if table in PARTS:
                with self._session.no_autoflush:
                    row = self._session.get(CalibrationPoint, number)
                if row is None:  # gone already, and noted as it went
                    return None
        if table in LEFT_OUT:
            return None
        self._touched.add((table, number))
        return table, number

    def _touch_former(self, row: Base, changes: dict[str, Any]) -> None:
        """Note what a part belonged to before it went to another."""
        column, table = PARTS.get(row.__tablename__, ("", ""))
        if column in changes and table not in PARTS:
            self._touched.add((table, changes[column][0]))

    def touch(self, units: Iterable[Unit]) -> None:
        """Note what was changed without objects."""
        self._touched.update(units)

    def note_history(self, act: str, number: int, words: str = "") -> None:
        """Note what is about the history itself; see `ChangedRow`."""
        noted = {"act": act, "table_name": StoreChange.__tablename__, "row_id": number}
        self._rows.append({**noted, "values_json": words})
        self._airframes.append(None)

    def note_added(self, table: str, numbers: Iterable[int], airframes: Iterable[int]) -> None:
        """Note rows that were added without objects."""
        added = {"act": "added", "table_name": table, "values_json": ""}
        own = list(numbers)
        self._rows.extend({**added, "row_id": number} for number in own)
        self._fresh.update((table, number) for number in own)
        self._touched.update((table, number) for number in own)
        self._airframes.extend(airframes)

    def _note(self, act: str, row: Base, values: dict[str, Any] | None) -> None:
        text = "" if values is None else json.dumps(values, sort_keys=True)
        table = type(row).__tablename__
        self._rows.append({"act": act, "table_name": table, "row_id": row.id, "values_json": text})
        airframe = _airframe_of(self._session, row)
        self._airframes.append(airframe)
        unit = self._touch(row)
        if airframe is None and unit is not None:
            self._without_airframe.add(unit)

    def acts(self) -> set[tuple[str, str]]:
        """Return what was done to rows of which tables, as (act, table)."""
        return {(row["act"], row["table_name"]) for row in self._rows}

    def airframes(self) -> set[int]:
        """Return the numbers of the airframes of which something was written."""
        return {airframe for airframe in self._airframes if airframe is not None}

    def without_airframe(self) -> set[Unit]:
        """Return what was written of which the row itself names no airframe."""
        return set(self._without_airframe)

    def write(self) -> int | None:
        """Write down what was collected, and return its number; None if nothing was flushed."""
        self._session.flush()
        if not self._rows:
            return None
        tags = {row.id: row.tag for row in self._session.execute(select(Airframe.id, Airframe.tag))}
        connection = self._session.connection()
        person = who_writes(connection)
        head = self._session.execute(
            insert(StoreChange).returning(*CHANGE_VALUES),
            {
                "made_at": datetime.now(UTC),
                "made_by": person.name,
                "name_from": person.name_from,
                "act": ACT.get(),
                "undone": "",
            },
        ).one()
        rows = [
            {**row, "store_change_id": head.id, "airframe": tags.get(airframe or 0, "")}
            for row, airframe in zip(self._rows, self._airframes, strict=True)
        ]
        self._session.execute(insert(ChangedRow), rows)
        states = list(digests_of(connection, self._touched))
        if states:
            self._session.execute(insert(RowState), states_of(states, store_change_id=head.id))
        add_link(connection, head.id, content_of(head, rows, states))
        return int(head.id)


def states_of(states: Iterable[tuple[Unit, str]], **owner: int) -> list[dict[str, Any]]:
    """Return rows of `RowState`.

    Args:
        states: Digests of what was touched.
        owner: The column and number of what left them so.
    """
    return [
        {**owner, "table_name": table, "row_id": number, "digest": digest}
        for (table, number), digest in states
    ]


def recorder_of(session: Session) -> Recorder | None:
    """Return what writes the history of a writing transaction; None in a store without one."""
    found = session.info.get(_RECORDER)
    return found if isinstance(found, Recorder) else None


def note_added(
    session: Session, model: type[Base], numbers: Iterable[int], airframes: Iterable[int]
) -> None:
    """Write rows into the history that were added without objects.

    Args:
        session: Of a writing transaction; nothing happens in a store without a history.
        model: Of the rows.
        numbers, airframes: Of each row: its own number, and that of the airframe it belongs to.
    """
    recorder = recorder_of(session)
    if recorder is not None:
        recorder.note_added(model.__tablename__, numbers, airframes)


def _columns(row: Base) -> list[Any]:
    return list(look_at(type(row)).column_attrs)


def _changes(row: Any) -> dict[str, Any]:
    """Return the values of a row that differ from what was stored, before and after."""
    state = look_at(row)
    found = {}
    for column in _columns(row):
        history = state.attrs[column.key].history
        if history.has_changes() and history.deleted and history.deleted[0] != history.added[0]:
            found[column.key] = [plain(history.deleted[0]), plain(history.added[0])]
    return found


def plain(value: Any) -> Any:
    """Return a value of a row as JSON can carry it."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    return value.isoformat() if isinstance(value, date) else value


def _airframe_of(session: Session, row: Any) -> int | None:
    if isinstance(row, Airframe):
        return row.id
    if isinstance(row, CruisePower):
        with session.no_autoflush:
            point = session.get(CalibrationPoint, row.calibration_point_id)
        return _airframe_of(session, point) if point is not None else None
    if isinstance(row, CalibrationPoint | Leg | ClimbMeasurement):
        with session.no_autoflush:
            sortie = session.get(Sortie, row.sortie_id)
        return sortie.airframe_id if sortie is not None else None
    return getattr(row, "airframe_id", None)
