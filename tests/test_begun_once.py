import sqlite3
from contextlib import closing
from pathlib import Path

import alembic.command
import pytest

from fleetcal.store import open_store
from tests.begun_once import _run_steps


@pytest.mark.long
def test_a_store_begun_from_what_the_steps_left_has_what_they_leave(
    tmp_path: Path, monkeypatch
) -> None:
    copied, begun = tmp_path / "copied.sqlite3", tmp_path / "begun.sqlite3"
    open_store(tmp_path / "first.sqlite3").close()
    open_store(copied).close()
    monkeypatch.setitem(vars(alembic.command), "upgrade", _run_steps)
    open_store(begun).close()

    assert _content(copied) == _content(begun)


def _content(file: Path) -> tuple[list[tuple[str, str, list[str]]], list[tuple[str, ...]]]:
    """Return every object with the clauses of its SQL, whose order the steps leave to chance."""
    with closing(sqlite3.connect(file)) as connection:
        made = [
            (kind, name, sorted(line.strip(" ,\t") for line in sql.splitlines()))
            for kind, name, sql in connection.execute(
                "SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY 1, 2"
            )
        ]
        revisions = connection.execute("SELECT * FROM fleetcal_revision").fetchall()
    return made, revisions
