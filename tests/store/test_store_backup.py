"""A store is copied while others write, and brought back on either engine."""

from __future__ import annotations

import sqlite3
import threading
import time
from contextlib import closing
from pathlib import Path

import pytest

from fleetcal.errors import DataError, NotAStoreError, StoreError
from fleetcal.store import find_source, open_store, save_description, select_points
from fleetcal.store.copies import back_up, bring_back
from fleetcal.store.history_guard import KEPT
from tests.older_store import all_values
from tests.store.invented_rows import FLEET, fill_every_table, fly, row_counts
from tests.store.test_store_first_revision import begin_at_first_revision


def plain(place: str) -> dict[str, list[str]]:
    """Rows as both engines write them alike: numbers, text and days; of the history none."""
    with open_store(place) as store, store.reading() as session:
        points = sorted(repr(point) for point in select_points(session))
        counted = row_counts(session).items()
        counts = sorted(f"{name} {count}" for name, count in counted if name not in KEPT)
    return {"points": points, "counts": counts}


@pytest.mark.long
def test_a_backup_brought_back_is_the_same_store(place: str, tmp_path: Path) -> None:
    with open_store(place) as store:
        fill_every_table(store)
    before = plain(place)
    back_up(place, tmp_path / "backup.sqlite3")
    assert plain(str(tmp_path / "backup.sqlite3")) == before
    with open_store(place) as store, store.writing() as session:
        fly(session, gave=None)
    assert plain(place) != before
    with pytest.raises(StoreError, match="not empty"):
        bring_back(place, tmp_path / "backup.sqlite3")
    bring_back(place, tmp_path / "backup.sqlite3", replace=True)
    assert plain(place) == before
    with open_store(place) as store, store.writing() as session:
        fly(session)  # numbers go on after those that came back
    assert len(plain(place)["points"]) == len(before["points"]) + 3


@pytest.mark.long
def test_a_backup_of_a_file_is_brought_into_a_server_and_back(
    postgres_store_url: str, tmp_path: Path
) -> None:
    with open_store(tmp_path / "a.sqlite3") as store:
        fill_every_table(store)
    bring_back(postgres_store_url, tmp_path / "a.sqlite3")
    back_up(postgres_store_url, tmp_path / "b.sqlite3")
    assert all_values(str(tmp_path / "b.sqlite3")) == all_values(str(tmp_path / "a.sqlite3"))


def test_no_backup_is_overwritten_and_no_half_one_is_left(store_file: Path, tmp_path: Path) -> None:
    open_store(store_file).close()
    (tmp_path / "there").write_text("mine")
    with pytest.raises(DataError, match="there already"):
        back_up(str(store_file), tmp_path / "there")
    assert (tmp_path / "there").read_text() == "mine"
    with pytest.raises(DataError, match="folder does not exist"):
        back_up(str(store_file), tmp_path / "none" / "b.sqlite3")
    assert not list(tmp_path.glob("*.part"))


def test_what_is_no_backup_is_refused_and_the_store_left_alone(place: str, tmp_path: Path) -> None:
    with open_store(place) as store:
        fill_every_table(store)
    before = plain(place)
    (tmp_path / "text").write_text("no database " * 100)
    with closing(sqlite3.connect(tmp_path / "strange")) as connection:
        connection.execute("CREATE TABLE other (a)")
    for name in ("text", "strange"):
        with pytest.raises(NotAStoreError):
            bring_back(place, tmp_path / name, replace=True)
    with pytest.raises(DataError, match="no such file"):
        bring_back(place, tmp_path / "none", replace=True)
    assert plain(place) == before


@pytest.mark.long
def test_a_backup_of_an_older_revision_is_brought_back_and_left_as_it_is(
    store_file: Path, tmp_path: Path
) -> None:
    begin_at_first_revision(str(store_file))
    before = store_file.read_bytes()
    bring_back(str(tmp_path / "new.sqlite3"), store_file)
    assert store_file.read_bytes() == before
    assert len(plain(str(tmp_path / "new.sqlite3"))["points"]) == 6


@pytest.mark.long
def test_backups_taken_while_another_writes_hold_whole_flights(place: str, tmp_path: Path) -> None:
    with open_store(place) as store, store.writing() as session:
        save_description(session, FLEET)
    stop = threading.Event()
    acknowledged: list[int] = []
    told: list[tuple[int, int]] = []

    def write() -> None:
        with open_store(place) as store:
            while not stop.is_set():
                with store.writing() as session:
                    fly(session)
                acknowledged.append(1)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for i in range(5):
            for _ in range(3000):  # the writer gets on between one backup and the next
                if len(acknowledged) > i:
                    break
                time.sleep(0.01)
            least = len(acknowledged)
            back_up(place, tmp_path / f"{i}.sqlite3")
            told.append((i, least))
    finally:
        stop.set()
        writer.join()
    assert len(acknowledged) >= 5
    for i, least in told:
        with open_store(tmp_path / f"{i}.sqlite3") as store, store.reading() as session:
            counts = row_counts(session)
            assert find_source(session, "0" * 64) is not None or counts["sortie"] == 0
        assert counts["sortie"] >= least
        assert counts["calibration_point"] == 3 * counts["sortie"]
        assert counts["uncertainty_term"] == 6 * counts["sortie"]
