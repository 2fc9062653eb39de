"""An import of many points that is killed in the middle, on both kinds of database."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

import fleetcal
from fleetcal.services.points.decide_points import list_points
from fleetcal.services.points.exchange_points import import_points
from fleetcal.store import PointFilter, open_store
from tests.services.import_worker import ENOUGH_SORTIES
from tests.services.invented_group import many_points

pytestmark = [pytest.mark.long, pytest.mark.any_store("takes a file and a server by itself")]

POINTS = 4000


def test_a_killed_import_leaves_the_store_whole_and_the_import_can_be_done_again(
    described_place: str, tmp_path: Path
) -> None:
    first, many = tmp_path / "first.csv", tmp_path / "many.csv"
    many_points(first, 3)
    many_points(many, POINTS)
    first.write_text(first.read_text().replace("2024-03-05", "2023-03-05"))
    assert POINTS // 10 > ENOUGH_SORTIES
    with open_store(described_place, create=False) as store:
        import_points(store, first)
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.services.import_worker", described_place, str(many)],
        env={**os.environ, "PYTHONPATH": str(Path(fleetcal.__file__).parents[1])},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stderr is not None
    assert process.stdout.readline() == "in the middle\n", process.stderr.read()
    on_file = "://" not in described_place
    if on_file:
        # The file itself is half changed by now: only its journal can make it whole again.
        assert Path(described_place + "-journal").stat().st_size > 0
    process.send_signal(signal.SIGKILL)
    assert process.wait(timeout=600) == -signal.SIGKILL
    process.stdout.close()
    process.stderr.close()
    with open_store(described_place, create=False) as store:
        kept = list_points(store, PointFilter()).points
        assert [point.source_name for point in kept] == ["first.csv"] * 3
        done = import_points(store, many)
        assert (done.points, done.sorties, done.known_already) == (POINTS, POINTS // 10, False)
        assert len(list_points(store, PointFilter()).points) == POINTS + 3
        assert import_points(store, many).known_already
    if on_file:
        with closing(sqlite3.connect(described_place)) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
