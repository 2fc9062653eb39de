"""Waiting for the write lock of a file."""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing
from pathlib import Path

import pytest

from fleetcal.errors import BusyStoreError
from fleetcal.store import open_store
from fleetcal.store.engines import sqlite_lock


def test_a_writer_asks_often_and_gets_the_lock_as_soon_as_it_is_free(
    store_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_store(store_file).close()
    with closing(sqlite3.connect(store_file)) as other:
        other.execute("BEGIN IMMEDIATE")
        naps: list[float] = []

        def nap(seconds: float) -> None:
            naps.append(seconds)
            if len(naps) == 50:
                other.rollback()

        monkeypatch.setattr(sqlite_lock, "nap", nap)
        with open_store(store_file, patience_s=3600.0) as store, store.writing():
            pass
    assert len(naps) == 50
    assert max(naps) < 0.05


def test_patience_ends_with_words_and_not_before(store_file: Path) -> None:
    open_store(store_file).close()
    with closing(sqlite3.connect(store_file)) as other:
        other.execute("BEGIN IMMEDIATE")
        began = time.monotonic()
        with (
            pytest.raises(BusyStoreError, match="is being written by another program") as caught,
            open_store(store_file, patience_s=0.6) as store,
            store.writing(),
        ):
            pytest.fail("two writers at once")
        assert time.monotonic() - began > 0.6
        assert "try again" in caught.value.hint


def test_the_commit_waits_for_readers_as_patiently_as_before(store_file: Path) -> None:
    with open_store(store_file, patience_s=7.0) as store, store.writing() as session:
        timeout = session.connection().exec_driver_sql("PRAGMA busy_timeout").scalar()
    assert timeout == 7000
