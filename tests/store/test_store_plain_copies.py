"""Plain copies of a store's file: whole, or refused in plain words, never a mixture."""

from __future__ import annotations

import os
import shutil
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from fleetcal.errors import StoreError
from fleetcal.services.points.decide_points import accept, reject
from fleetcal.store import Store, open_store, save_description
from fleetcal.store.copies import back_up, bring_back
from fleetcal.store.engines import sqlite_seal as seal
from tests.older_store import all_values, step
from tests.store.faults.killing import Moment, run_and_kill
from tests.store.invented_rows import FLEET, fill_every_table, fly, points, row_counts

_PAGE = 4096
_MIXED = "not of one moment"


@pytest.fixture
def flown(store_file: Path) -> Path:
    with open_store(store_file) as store, store.writing() as session:
        save_description(session, FLEET)
        for _ in range(3):
            fly(session, gave=points(60))
    return store_file


def decide(store: Store) -> None:
    reject(store, range(1, 181), "static line loose")


def fly_once(store: Store) -> None:
    with store.writing() as session:
        fly(session, gave=points(2))


@pytest.mark.long
@pytest.mark.parametrize("deed", [decide, fly_once])
def test_no_mixture_of_old_and_new_pages_is_taken_for_a_store(
    flown: Path, tmp_path: Path, deed: Callable[[Store], None]
) -> None:
    old, before = flown.read_bytes(), all_values(str(flown))
    with open_store(flown) as store:
        deed(store)
    new, after = flown.read_bytes(), all_values(str(flown))
    pages = range(max(len(old), len(new)) // _PAGE)
    changed = [i * _PAGE for i in pages if old[i * _PAGE :][:_PAGE] != new[i * _PAGE :][:_PAGE]]
    copy, refused, taken = tmp_path / "copy.sqlite3", 0, 0
    for cut in changed:
        for first, then in ((old, new), (new, old)):
            copy.write_bytes(first[:cut] + then[cut:])
            try:
                open_store(copy, create=False).close()
            except StoreError as error:
                refused += bool(error.hint)
                continue
            assert all_values(str(copy)) in (before, after)
            taken += 1
    assert refused > len(changed)
    assert refused + taken == 2 * len(changed)
    assert taken >= 1


def test_half_a_decision_is_refused_in_plain_words_and_is_no_backup(
    flown: Path, tmp_path: Path
) -> None:
    old = flown.read_bytes()
    with open_store(flown) as store:
        decide(store)
    new = flown.read_bytes()
    copy = tmp_path / "copy.sqlite3"
    copy.write_bytes(old[:_PAGE] + new[_PAGE : len(old)])
    for use in (
        lambda: open_store(copy),
        lambda: back_up(str(copy), tmp_path / "backup.sqlite3"),
        lambda: bring_back(str(flown), copy, replace=True),
    ):
        with pytest.raises(StoreError, match=_MIXED) as caught:
            use()
        assert "store backup" in caught.value.hint
        assert str(copy) in caught.value.message
    assert not (tmp_path / "backup.sqlite3").exists()
    assert flown.read_bytes() == new


@pytest.mark.long
def test_plain_copies_while_a_program_writes_open_whole_or_are_refused(
    flown: Path, tmp_path: Path
) -> None:
    whole = refused = 0

    def write() -> None:
        with open_store(flown) as store:
            for _ in range(1000):
                reject(store, range(1, 181), "loose")
                accept(store, range(1, 181))

    def copy_and_look() -> None:
        nonlocal whole, refused
        for number in range(25):
            copy = tmp_path / f"copy {number}"
            with flown.open("rb") as here, copy.open("wb") as there:
                while piece := here.read(8 * _PAGE):
                    there.write(piece)
                    time.sleep(0.002)
            try:
                with open_store(copy, create=False) as store, store.reading() as session:
                    counts = session.connection().exec_driver_sql(
                        "SELECT count(*), sum(accepted), count(DISTINCT reason),"
                        " count(DISTINCT decided_at) FROM calibration_point"
                    )
                    total, accepted, reasons, _ = counts.one()
                    assert (total, reasons) == (180, 1)
                    assert accepted in (0, 180)
                    whole += 1
            except StoreError as error:
                refused += bool(error.hint)

    writer = os.fork()
    if writer == 0:
        try:
            write()
        finally:
            os._exit(0)
    try:
        copy_and_look()
    finally:
        os.kill(writer, 9)
        os.waitpid(writer, 0)
    assert whole + refused == 25
    with open_store(flown) as store, store.reading() as session:
        assert row_counts(session)["calibration_point"] == 180


@pytest.mark.long
def test_a_file_whose_journal_was_left_behind_after_a_kill_is_refused(
    flown: Path, tmp_path: Path
) -> None:
    def write_for_ever() -> None:
        with open_store(flown) as store, store.writing() as session:
            session.connection().exec_driver_sql("PRAGMA cache_size = 5")
            fly(session, gave=points(400))
            time.sleep(600)

    before = all_values(str(flown))
    run_and_kill(write_for_ever, tmp_path / "words", Moment("begun", 3.0))
    assert flown.with_name(flown.name + "-journal").stat().st_size > 0
    alone = Path(shutil.copy(flown, tmp_path / "alone.sqlite3"))
    with pytest.raises(StoreError):
        open_store(alone)
    open_store(flown).close()  # with its journal it comes back
    assert all_values(str(flown)) == before


def test_what_another_program_wrote_properly_is_let_pass_and_sealed_again(flown: Path) -> None:
    with closing(sqlite3.connect(flown)) as connection, connection:
        connection.execute("UPDATE airframe SET note = 'by another program'")
    with open_store(flown) as store:
        fly_once(store)
    content = flown.read_bytes()
    assert content[24:28] == content[68:72]  # the count at which the seal holds


@pytest.mark.parametrize("make", ["upgraded", "backup", "filled"])
def test_every_way_to_make_a_store_leaves_the_seal(
    store_file: Path, tmp_path: Path, make: str
) -> None:
    if make == "upgraded":
        step(str(store_file), "upgrade", "0003")
    with open_store(store_file) as store:
        fill_every_table(store)
    if make == "backup":
        back_up(str(store_file), tmp_path / "backup.sqlite3")
        store_file = tmp_path / "backup.sqlite3"
    content = bytearray(store_file.read_bytes())
    assert content[24:28] == content[68:72]
    content[-100] ^= 1  # one bit that went wrong
    store_file.write_bytes(content)
    with pytest.raises(StoreError, match="is damaged"):
        open_store(store_file)


def test_a_transaction_that_changes_nothing_writes_nothing(flown: Path) -> None:
    before = flown.read_bytes()
    with open_store(flown) as store, store.writing():
        pass
    assert flown.read_bytes() == before


def test_a_file_too_large_to_look_at_as_a_whole_is_used_without_a_seal(
    flown: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(seal, "LARGEST_BYTES", 1000)
    with open_store(flown) as store:
        fly_once(store)
    content = flown.read_bytes()
    assert content[24:28] != content[68:72]
    monkeypatch.undo()
    open_store(flown).close()


def leave_free_pages(path: Path) -> list[int]:
    """Make and drop a table in one's own transactions; return the free pages, from 1."""
    with open_store(path) as store:
        with store.writing() as session:
            session.connection().exec_driver_sql("CREATE TABLE passing (filling TEXT)")
            session.connection().exec_driver_sql("INSERT INTO passing VALUES (?)", ("x" * 40_000,))
        with store.writing() as session:
            session.connection().exec_driver_sql("DROP TABLE passing")
    return sorted(seal._free_pages(path.read_bytes()))


def scribbled(path: Path, numbers: list[int]) -> bytearray:
    """Write anything on some pages of a file; return what it holds then."""
    content = bytearray(path.read_bytes())
    for number in numbers:
        content[(number - 1) * _PAGE : number * _PAGE] = os.urandom(_PAGE)
    path.write_bytes(content)
    return content


def test_what_stands_on_free_pages_is_nobodys(flown: Path) -> None:
    free = leave_free_pages(flown)
    assert len(free) > 5
    content = scribbled(flown, free)
    open_store(flown, create=False).close()
    # a page that is in use counts as before
    used = next(n for n in range(2, len(content) // _PAGE) if n not in free)
    content[(used - 1) * _PAGE + 2000] ^= 1
    flown.write_bytes(content)
    with pytest.raises(StoreError):
        open_store(flown, create=False)


def test_a_seal_of_an_older_version_is_believed(
    flown: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    scribbled(flown, leave_free_pages(flown))
    with open_store(flown) as store, monkeypatch.context() as older:
        older.setattr(seal, "_checksum", seal._checksum_of_all)
        fly_once(store)
    content = flown.read_bytes()
    assert seal._number(content, seal._CHECKSUM) != seal._checksum(content)
    open_store(flown, create=False).close()
