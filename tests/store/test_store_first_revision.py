"""A store that the first tables were made for, with rows, becomes one of today."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from fleetcal.errors import DataError
from fleetcal.store import (
    Store,
    add_source,
    list_bench_checks,
    load_description,
    open_store,
    save_description,
    select_points,
)
from fleetcal.store.connection import for_upgrading
from fleetcal.store.point_rows import StoredPoint
from fleetcal.store.schema_state import NEWEST_REVISION
from tests.older_store import all_values, as_then, engine_at, filling, step
from tests.store.invented_rows import FLEET, check_on_bench, fly, row_counts

pytestmark = pytest.mark.long

# As it could be described then: handbooks had no speeds, propellers no pitch.
OLD_FLEET = replace(
    FLEET,
    handbooks=tuple(replace(book, speeds=()) for book in FLEET.handbooks),
    propellers=tuple(replace(propeller, pitch="") for propeller in FLEET.propellers),
)
NEW_TABLES = {"bench_check", "bench_row", "leak_check", "handbook_speed", "published_issue"}
NEW_TABLES |= {"replaced_version", "store_change", "changed_row", "climb_measurement"}
NEW_TABLES |= {"kept_log", "log_piece", "cruise_power", "handbook_cruise", "known_key"}
CHAIN = {"row_state", "history_link"}  # of what is there already


def begin_at_first_revision(place: str) -> None:
    with filling(place, "0001") as session:
        save_description(session, OLD_FLEET)
        fly(session)
        fly(session, "C-02", date(2020, 2, 29))


@pytest.fixture
def first_place(place: str) -> str:
    """A store of the first revision with rows in every table it has."""
    begin_at_first_revision(place)
    return place


def test_a_store_of_the_first_revision_keeps_every_value_and_gains_the_checks(
    first_place: str,
) -> None:
    before = all_values(first_place)
    assert not NEW_TABLES & set(before)
    with open_store(first_place, create=False) as store:
        with store.reading() as session:
            points: list[StoredPoint] = select_points(session)
            assert load_description(session) == OLD_FLEET
        after = all_values(first_place)
        assert as_then(after, before) == before
        added = set(after) - set(before)
        assert added == NEW_TABLES | CHAIN
        assert not any(after[name] for name in NEW_TABLES)
        assert len(points) == 6
        assert {p.barred for p in points} == {""}
        with store.writing() as session:
            check_on_bench(session)
        with store.reading() as session:
            counts = row_counts(session)
    assert (counts["bench_check"], counts["bench_row"], counts["leak_check"]) == (1, 3, 2)


def test_a_copy_of_the_first_revision_is_kept_beside_the_file(store_file: Path) -> None:
    begin_at_first_revision(str(store_file))
    before = all_values(str(store_file))
    open_store(store_file, create=False).close()
    copy = store_file.with_name(store_file.name + ".before-" + NEWEST_REVISION)
    with closing(sqlite3.connect(copy)) as connection:
        found = connection.execute("SELECT version_num FROM fleetcal_revision").fetchone()
    assert found == ("0001",)
    assert all_values(str(copy)) == before


def test_going_back_to_the_first_revision_keeps_all_but_the_checks(first_place: str) -> None:
    with open_store(first_place) as store, store.writing() as session:
        check_on_bench(session)
        add_source(session, "c" * 64, "pace.csv", "measurement")
    before = all_values(first_place)
    step(first_place, "downgrade", "0001")
    after = all_values(first_place)
    assert not NEW_TABLES & set(after)
    then = as_then(before, after)
    for name in set(after) - {"source_file"}:
        assert after[name] == then[name]
    kinds = {row[1]: row[3] for row in after["source_file"]}
    assert {kinds["b" * 64], kinds["c" * 64]} == {"points"}
    with open_store(first_place) as store, store.reading() as session:
        assert list_bench_checks(session) == []


def test_the_first_revision_refuses_the_new_kinds_of_file_and_todays_takes_them(
    first_place: str,
) -> None:
    with engine_at(first_place) as engine:
        old = Store(engine, "a store of the first revision")
        with pytest.raises(DataError, match="kind_known"), old.writing() as session:
            add_source(session, "d" * 64, "bench.csv", "bench")
    with open_store(first_place) as store:
        with store.writing() as session:
            add_source(session, "d" * 64, "bench.csv", "bench")
        with pytest.raises(DataError, match="kind_known"), store.writing() as session:
            add_source(session, "e" * 64, "bench.csv", "novel")


def test_the_store_itself_refuses_a_failed_leak_check_marked_as_passed(place: str) -> None:
    with open_store(place) as store, store.writing() as session:
        save_description(session, FLEET)
    wrong = text(
        "INSERT INTO leak_check (airframe_id, checked_on, loss_ft, limit_ft,"
        " limit_source, passed, note, withdrawn, added_at) VALUES"
        " (1, '2020-01-01', 120.0, 100.0, 'x', true, '', '', '2020-01-01')"
    )
    with (
        engine_at(place) as engine,
        for_upgrading(engine).connect() as connection,
        connection.begin(),
        pytest.raises(IntegrityError, match="passed_as_measured"),
    ):
        connection.execute(wrong)
