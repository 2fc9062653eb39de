"""The history is an audit trail: nobody rewrites it, nothing slips past it unseen."""

from __future__ import annotations

import os
import pwd
import re
import sqlite3
import threading
from contextlib import closing
from hashlib import sha256
from pathlib import Path

import pytest
from sqlalchemy import text

from fleetcal.errors import DataError, StoreError
from fleetcal.services.keeping.check_store import check_store
from fleetcal.store import (
    Store,
    drop_log,
    find_log,
    keep_log,
    open_store,
    packed_file,
    reject_points,
    save_description,
)
from fleetcal.store.copies import back_up, bring_back
from fleetcal.store.engines.sqlite_seal import refuse_mixed_file
from fleetcal.store.history_chain import newest_link
from fleetcal.store.history_check import history_faults, rows_past_history
from fleetcal.store.history_guard import KEPT, lifted, put_up
from fleetcal.store.history_rows import list_history
from fleetcal.store.row_digests import digest_of
from fleetcal.store.undoing import undo_change
from tests.older_store import filling, step
from tests.store.invented_rows import FLEET, fill_every_table
from tests.store.invented_shares import LATER, fly_file
from tests.store.upgrade_step import REBUILDING


def faults(store: Store) -> list[str]:
    with store.reading() as session:
        found = [*history_faults(session), *rows_past_history(session)]
    return [f"{where}: {what}" for where, what in found]


def flown(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
    with store.writing() as session:
        fly_file(session, "one")
    with store.writing() as session:
        reject_points(session, [1, 3], "loose", LATER)


def past_the_history(store: Store, *statements: str) -> None:
    """Run SQL with the triggers lifted, as the owner of a store could."""
    with store.writing() as session, lifted(session.connection()):
        for statement in statements:
            session.execute(text(statement))


def test_every_way_of_writing_leaves_a_history_that_fits(store: Store) -> None:
    fill_every_table(store)
    assert faults(store) == []
    flown(store)
    with store.writing() as session:
        undo_change(session, None)
    assert faults(store) == []


def test_the_person_is_the_login_or_the_user_of_the_machine_and_no_variable(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("USER", "LOGNAME", "LNAME", "USERNAME"):
        monkeypatch.setenv(name, "keeper")
    flown(store)
    with store.reading() as session:
        login = session.connection().engine.url.username
        lines = list_history(session)
    file = store.path is not None
    expected = pwd.getpwuid(os.getuid()).pw_name if file else login
    assert {(one.made_by, one.name_from) for one in lines} == {
        (expected, "machine" if file else "server")
    }


@pytest.mark.parametrize("table", KEPT)
def test_the_database_itself_refuses_to_change_or_delete_history(store: Store, table: str) -> None:
    flown(store)
    for statement in (f"DELETE FROM {table}", f"UPDATE {table} SET id = id + 1"):
        with pytest.raises((StoreError, DataError)), store.writing() as session:
            session.execute(text(statement))
    assert faults(store) == []


@pytest.mark.parametrize(
    ("statement", "named"),
    [
        ("UPDATE store_change SET made_by = 'keeper' WHERE id = 2", r"change 2 of \d{4}-"),
        ("UPDATE changed_row SET airframe = 'C-02' WHERE store_change_id = 2", "change 2 of"),
        ("DELETE FROM changed_row WHERE store_change_id = 3", "change 3 of"),
        ("UPDATE history_link SET content = 'x' WHERE id = 2", "change 2 of"),
        ("DELETE FROM history_link WHERE id = 2", "change 3 of .*1 link is missing"),
    ],
)
def test_a_history_that_was_changed_names_the_change(
    store: Store, statement: str, named: str
) -> None:
    flown(store)
    past_the_history(store, statement)
    assert re.search(named, "\n".join(faults(store)))


@pytest.mark.parametrize(
    ("statement", "named"),
    [
        (
            "UPDATE calibration_point SET accepted = FALSE, reason = 'x'",
            r"sortie 1 of C-01 on .* change 3 of",
        ),
        ("UPDATE leg SET vic_kt = vic_kt + 0.001 WHERE id = 1", "sortie 1 of C-01"),
        ("UPDATE uncertainty_term SET u_kappa = 0 WHERE id = 1", "sortie 1 of C-01"),
        ("UPDATE airframe SET note = 'x' WHERE id = 1", "airframe 1: .* change 1 of"),
        ("DELETE FROM uncertainty_term", "sortie 1 of C-01"),
        (
            "INSERT INTO engine (name) VALUES ('x')",
            "engine .*no entry of the history added it",
        ),
    ],
)
def test_rows_that_were_changed_past_the_program_are_found(
    store: Store, statement: str, named: str
) -> None:
    flown(store)
    with store.writing() as session:
        # Without objects, so that nothing of it is written down.
        session.execute(text(statement))
    assert re.search(named, "\n".join(faults(store)))
    where = "\n".join(f"{one.where}: {one.what}" for one in check_store(store).faults)
    assert re.search(named, where)


def test_triggers_that_were_removed_are_missed(store: Store) -> None:
    on = " ON changed_row" if store.path is None else ""
    with store.writing() as session:
        session.execute(text(f"DROP TRIGGER changed_row_stays{on}"))
    assert any("1 of the triggers" in fault for fault in faults(store))
    with store.writing() as session:
        put_up(session.connection())
    assert faults(store) == []


def test_an_older_history_is_chained_as_claimed_and_later_rewriting_is_found(place: str) -> None:
    with filling(place, "0015"):
        pass
    with open_store(place) as store:
        flown(store)
    step(place, "downgrade", "0015")
    with open_store(place, create=False) as store:
        assert faults(store) == []
        with store.reading() as session:
            assert {line.name_from for line in list_history(session)} == {"claimed"}
            link = newest_link(session.connection())
        assert link is not None
        assert link[0] == 4  # three changes and the upgrade
        past_the_history(store, "UPDATE store_change SET act = 'x' WHERE id = 1")
        assert any("change 1 of" in fault for fault in faults(store))


def test_an_upgrade_does_not_make_good_what_was_changed_past_the_program(
    place: str, next_step: object
) -> None:
    with open_store(place) as store:
        flown(store)
        with store.writing() as session:
            session.execute(text("UPDATE leg SET vic_kt = vic_kt + 1 WHERE id = 1"))
    assert callable(next_step)
    next_step(REBUILDING)
    with open_store(place, create=False) as store:
        (fault,) = faults(store)
        assert "sortie 1 of C-01" in fault


@pytest.mark.long
def test_a_backup_brings_its_history_and_says_what_it_replaced(place: str, tmp_path: Path) -> None:
    with open_store(place) as store:
        flown(store)
    back_up(place, tmp_path / "backup.sqlite3")
    with open_store(place) as store:
        with store.writing() as session:
            reject_points(session, [2], "later", LATER)
        with store.reading() as session:
            former = newest_link(session.connection())
    bring_back(place, tmp_path / "backup.sqlite3", replace=True)
    with open_store(place) as store:
        assert faults(store) == []
        with store.reading() as session:
            last = list_history(session)[-1]
        assert (last.act, last.table, last.row_id) == ("removed", "store_change", 4)
        assert former is not None
        assert former[1] in last.values
        with store.writing() as session:
            assert undo_change(session, None).change == 3
        with pytest.raises(DataError, match="about the history itself"), store.writing() as session:
            undo_change(session, 4)
    bring_back(str(tmp_path / "other.sqlite3"), tmp_path / "backup.sqlite3")
    with open_store(tmp_path / "other.sqlite3") as other:
        assert faults(other) == []


def test_another_persons_change_is_named_and_taken_back_only_when_that_is_meant(
    store: Store,
) -> None:
    flown(store)
    past_the_history(store, "UPDATE store_change SET made_by = 'anna' WHERE id = 3")
    with (
        pytest.raises(DataError, match="change 3 was made by anna, not by you") as caught,
        store.writing() as session,
    ):
        undo_change(session, None)
    assert "fleetcal undo 3 --of-others" in caught.value.hint
    with store.writing() as session:
        assert undo_change(session, 3, of_others=True).made_by == "anna"


def test_behind_a_log_that_was_dropped_the_next_change_is_offered(
    store: Store, tmp_path: Path
) -> None:
    flown(store)
    log = tmp_path / "one.csv"
    log.write_text("a,b\n")
    with packed_file(log) as packed, store.writing() as session:
        digest = sha256(log.read_bytes()).hexdigest()
        session.execute(text(f"UPDATE source_file SET sha256 = '{digest}' WHERE id = 1"))
        keep_log(session, packed)
    with store.writing() as session:
        drop_log(session, find_log(session, "one.csv"))
    with (
        pytest.raises(DataError, match="change 5 dropped a log") as caught,
        store.writing() as session,
    ):
        undo_change(session, None)
    assert "'fleetcal undo 4' takes back the one before it" in caught.value.hint


def test_a_damaged_description_of_the_tables_is_explained(store_file: Path) -> None:
    open_store(store_file).close()
    whole = store_file.read_bytes()
    damaged = whole.replace(b'CREATE TABLE "airframe"', b'CREATE T\xe1BLE "airframe"', 1)
    assert damaged != whole
    store_file.write_bytes(damaged)
    with (
        closing(sqlite3.connect(store_file)) as connection,
        pytest.raises(StoreError, match="the description of its tables cannot be read"),
    ):
        refuse_mixed_file(connection, "the store")


def test_a_moment_that_is_none_is_a_fault_and_no_end_of_the_check(store_file: Path) -> None:
    with open_store(store_file) as store:
        flown(store)
        with store.writing() as session:
            session.execute(text("UPDATE calibration_point SET decided_at = '2024-05-06 07:0<'"))
        found = check_store(store).faults
    assert any(one.where.startswith("sortie 1 of") for one in found)
    assert any("cannot be read" in one.what for one in found)


@pytest.mark.long
def test_writers_at_once_do_not_fork_the_chain(begun_store_url: str) -> None:
    with open_store(begun_store_url) as store, store.writing() as session:
        save_description(session, FLEET)
    wrong: list[BaseException] = []

    def write(number: int) -> None:
        try:
            with open_store(begun_store_url) as store:
                for turn in range(5):
                    with store.writing() as session:
                        fly_file(session, f"{number}-{turn}")
        except BaseException as error:
            wrong.append(error)

    writers = [threading.Thread(target=write, args=(number,)) for number in range(4)]
    for one in writers:
        one.start()
    for one in writers:
        one.join()
    assert wrong == []
    with open_store(begun_store_url) as store:
        assert faults(store) == []
        with store.reading() as session:
            link = newest_link(session.connection())
    assert link is not None
    assert link[0] == 21


def test_a_digest_is_made_of_bytes_that_no_python_may_change() -> None:
    row = (7, 1.5, None, "kt ñ", -1)
    spelt = (
        b"[\x02\x00\x00\x00" + b"u\x03\x00\x00\x00leg"
        b"(\x05\x00\x00\x00" + b"i\x07\x00\x00\x00" + b"g\x00\x00\x00\x00\x00\x00\xf8?"
        b"N" + b"u\x05\x00\x00\x00kt \xc3\xb1" + b"i\xff\xff\xff\xff"
    )
    assert digest_of(["leg", row]) == sha256(spelt).hexdigest()[:32]
