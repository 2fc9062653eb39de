from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import select

import fleetcal
from fleetcal.store import find_airframe, open_store, save_description
from fleetcal.store.models import AircraftType
from tests.store.invented_rows import FLEET, fill_every_table, fly, row_counts
from tests.store.store_worker import ROUNDS

pytestmark = pytest.mark.long

PROCESSES = 4


def start(deed: str, place: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "tests.store.store_worker", deed, place],
        env={**os.environ, "PYTHONPATH": str(Path(fleetcal.__file__).parents[1])},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def all_done(processes: list[subprocess.Popen[str]]) -> None:
    errors = [process.communicate(timeout=600)[1] for process in processes]
    assert [process.returncode for process in processes] == [0] * len(processes), errors


def test_four_processes_that_read_and_then_write_lose_no_update(place: str) -> None:
    with open_store(place) as store:
        with store.writing() as session:
            save_description(session, FLEET)
            session.scalars(select(AircraftType)).one().note = "0"
        all_done([start("count_up", place) for _ in range(PROCESSES)])
        with store.reading() as session:
            assert session.scalars(select(AircraftType.note)).one() == str(PROCESSES * ROUNDS)


def test_four_processes_begin_the_same_store_together(bare_place: str) -> None:
    all_done([start("begin_store", bare_place) for _ in range(PROCESSES)])
    with open_store(bare_place, create=False) as store, store.writing() as session:
        assert save_description(session, FLEET).added > 0


def test_an_import_that_is_killed_leaves_nothing_behind(place: str) -> None:
    with open_store(place) as store:
        fill_every_table(store)
        with store.reading() as session:
            before = row_counts(session)
    process = start("import", place)
    assert process.stdout is not None
    assert process.stderr is not None
    assert process.stdout.readline() == "in the middle\n", process.stderr.read()
    if "://" not in place:
        # The file itself is half changed by now: only its journal can make it whole again.
        assert Path(place + "-journal").stat().st_size > 0
    process.send_signal(signal.SIGKILL)
    assert process.wait(timeout=600) == -signal.SIGKILL
    process.stdout.close()
    process.stderr.close()
    with open_store(place, create=False) as store:
        with store.reading() as session:
            assert row_counts(session) == before
            assert find_airframe(session, "C-01").note == ""
        with store.writing() as session:
            fly(session)
    if "://" not in place:
        with closing(sqlite3.connect(place)) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            assert connection.execute("PRAGMA foreign_key_check").fetchall() == []


def test_an_interruption_while_a_connection_closes_prints_no_frames() -> None:
    script = (
        "import logging, fleetcal.store.connection\n"
        "pool = logging.getLogger('sqlalchemy.pool.impl.NullPool')\n"
        "try:\n"
        "    raise KeyboardInterrupt\n"
        "except KeyboardInterrupt:\n"
        "    pool.error('Exception closing connection', exc_info=True)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stderr == ""
