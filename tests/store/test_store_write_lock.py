"""Waiting for the write lock of a file."""

from __future__ import annotations

import sqlite3
import threading
import time
from contextlib import closing
from pathlib import Path

import pytest

from fleetcal.errors import BusyStoreError
from fleetcal.store import open_store


def test_a_writer_gets_the_lock_soon_after_it_is_free(store_file: Path) -> None:
    open_store(store_file).close()
    with closing(sqlite3.connect(store_file, check_same_thread=False)) as other:
        other.execute("BEGIN IMMEDIATE")
        timer = threading.Timer(0.5, other.rollback)
        timer.start()
        began = time.monotonic()
        with open_store(store_file) as store, store.writing():
            waited = time.monotonic() - began
        timer.join()
    assert 0.4 < waited < 5.0


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
