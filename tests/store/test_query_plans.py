"""The plans of the queries that must not slow down as a store grows (SQLite)."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, event
from sqlalchemy.orm import Session

from fleetcal.store import (
    BulkFlights,
    PointFilter,
    StateMark,
    Store,
    airframes_changed_since,
    open_store,
    reject_points,
    select_legs,
    select_points,
    sorties_of_source,
    state_mark,
)
from fleetcal.store.exchange.collect_flown import collect_flown
from fleetcal.store.history_rows import list_history
from fleetcal.store.models import SourceFile
from tests.store.invented_rows import MOMENT, fill_every_table
from tests.store_places import begun_at

LARGE = {
    *("sortie", "leg", "calibration_point", "uncertainty_term", "changed_row", "source_file"),
    "climb_measurement",
}


@pytest.fixture
def store(tmp_path: Path) -> Any:
    with open_store(begun_at(tmp_path / "store.sqlite3")) as opened:
        fill_every_table(opened)
        yield opened


def plans(session: Session, ask: Callable[[Session], object]) -> list[str]:
    """Return the steps of every plan by which an action reads a large table from end to end."""
    asked: list[tuple[str, Any]] = []

    def note(connection: Connection, cursor: Any, sql: str, values: Any, *_: Any) -> None:
        asked.append((sql, values))

    connection = session.connection()
    event.listen(connection, "before_cursor_execute", note)
    ask(session)
    event.remove(connection, "before_cursor_execute", note)
    assert asked
    steps = []
    for sql, values in asked:
        if sql.lstrip().upper().startswith(("SELECT", "UPDATE", "DELETE")):
            # a statement for many rows has one plan for each; a SELECT cannot be run for many
            first = values[0] if isinstance(values, list) else values
            rows = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {sql}", first)
            steps += [str(row[3]) for row in rows]
    return [step for step in steps if _scans(step)]


def _scans(step: str) -> bool:
    words = step.split()
    through = "USING INDEX" in step or "USING COVERING INDEX" in step
    return words[0] == "SCAN" and words[1] in LARGE and not through


def points_of(**wanted: Any) -> Callable[[Session], object]:
    return lambda session: select_points(session, PointFilter(**wanted))


@pytest.mark.parametrize(
    "ask",
    [
        points_of(airframe="C-01"),
        points_of(airframe="C-01", type="Corrie 2", flap_setting="up", accepted=True),
        points_of(point_id=1),
        lambda session: select_legs(session, "C-01"),
        lambda session: sorties_of_source(session, session.get(SourceFile, 1)),
        lambda session: collect_flown(session, ["C-01"], []),
        lambda session: list_history(session, "C-01"),
        state_mark,
        lambda session: airframes_changed_since(session, StateMark(0, MOMENT, 0)),
    ],
)
def test_what_is_asked_of_one_airframe_reads_no_large_table_from_end_to_end(
    store: Store, ask: Callable[[Session], object]
) -> None:
    with store.reading() as session:
        assert plans(session, ask) == []


def test_what_is_changed_of_one_airframe_reads_no_large_table_from_end_to_end(
    store: Store,
) -> None:
    with store.writing() as session:
        assert plans(session, lambda s: reject_points(s, [1, 2], "loose", MOMENT)) == []
        source = session.get(SourceFile, 1)
        assert source is not None
        flights = BulkFlights(session, source)
        assert plans(session, lambda s: flights.points_there({"C-01"})) == []


def test_a_query_without_an_index_would_be_found_out(store: Store) -> None:
    with store.reading() as session:
        assert plans(session, lambda s: select_points(s, PointFilter(flap_setting="up")))
