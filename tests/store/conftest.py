"""Stores on both kinds of database, empty and filled."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import psycopg
import pytest
from sqlalchemy import Engine, event
from sqlalchemy.engine import make_url

from fleetcal.services.sharing import plan_merge
from fleetcal.store import Store, open_store, save_description, schema_state, upgrade
from fleetcal.store.models import Base
from tests.store.invented_rows import FLEET, fill_every_table
from tests.store.invented_shares import Make
from tests.store.standard_words import foreign_words, our_names
from tests.store.upgrade_step import NEXT


@pytest.fixture(autouse=True)
def _only_standard_words() -> Iterator[None]:
    """Listen to all SQL that goes to a server during a test, and refuse words of a dialect."""
    sent: set[str] = set()

    def listen(connection: Any, _cursor: Any, statement: str, *_more: Any) -> None:
        if connection.dialect.name == "postgresql":
            sent.add(statement)

    event.listen(Engine, "before_cursor_execute", listen)
    yield
    event.remove(Engine, "before_cursor_execute", listen)
    names = our_names()
    found = {statement: words for statement in sent if (words := foreign_words(statement, names))}
    assert not found


@pytest.fixture(autouse=True)
def _invented_points_follow_from_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let points be merged whose legs were never flown; tests of flights hold that check."""
    monkeypatch.setattr(plan_merge, "refuse_contradictions", lambda entries, flights, name: None)


@pytest.fixture
def store_file(tmp_path: Path) -> Path:
    return tmp_path / "store with a space.sqlite3"


@pytest.fixture(params=["file", "server"])
def bare_place(request: pytest.FixtureRequest) -> str:
    """Where a store can be made: a file, or a database on a PostgreSQL server."""
    if request.param == "file":
        return str(request.getfixturevalue("store_file"))
    return str(request.getfixturevalue("postgres_store_url"))


@pytest.fixture(params=["file", "server"])
def place(request: pytest.FixtureRequest) -> str:
    """Where a store is that was begun and holds nothing."""
    if request.param == "file":
        begun, path = (request.getfixturevalue(name) for name in ("begun_file", "store_file"))
        return str(shutil.copy(begun, path))
    return str(request.getfixturevalue("begun_store_url"))


@pytest.fixture(scope="session")
def begun_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty store to be copied, which takes less time than beginning one."""
    path = tmp_path_factory.mktemp("begun") / "store.sqlite3"
    open_store(path).close()
    return path


@pytest.fixture(scope="session")
def begun_url(postgres_url: str) -> str:
    """A store on the server that tests clear of rows instead of beginning it anew."""
    with psycopg.connect(postgres_url, autocommit=True) as connection:
        connection.execute("CREATE DATABASE begun")
    url = make_url(postgres_url).set(database="begun").render_as_string(hide_password=False)
    open_store(url).close()
    return url


@pytest.fixture(params=["file", "server"])
def store(request: pytest.FixtureRequest, store_file: Path) -> Iterator[Store]:
    """An open store without rows."""
    if request.param == "file":
        where = str(shutil.copy(request.getfixturevalue("begun_file"), store_file))
    else:
        where = request.getfixturevalue("begun_url")
    with open_store(where, create=False) as opened:
        yield opened
    if request.param == "server":
        _clear(where)


def _clear(url: str) -> None:
    """Delete all rows and let the ids begin at one again."""
    with psycopg.connect(url) as connection:
        connection.execute("SET session_replication_role = replica")  # without triggers
        for table in reversed(Base.metadata.sorted_tables):
            connection.execute(f"DELETE FROM {table.name}")
            connection.execute(f"ALTER SEQUENCE {table.name}_id_seq RESTART")


@pytest.fixture
def make(tmp_path: Path, begun_file: Path, request: pytest.FixtureRequest) -> Make:
    """Return a function that opens a store by name, with the fleet in it."""

    def opened(name: str) -> Store:
        path = tmp_path / f"{name}.sqlite3"
        path.write_bytes(begun_file.read_bytes())
        store = open_store(path)
        request.addfinalizer(store.close)
        with store.writing() as session:
            save_description(session, FLEET)
        return store

    return opened


@pytest.fixture
def filled(store: Store) -> Store:
    """A store with rows in every table."""
    fill_every_table(store)
    return store


@pytest.fixture
def shared_folder() -> Iterator[Path]:
    """A folder that any user can reach, which pytest's own is not."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        yield folder
        folder.chmod(0o755)


@pytest.fixture
def next_step(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Return a function that makes this program one upgrade step newer."""
    with tempfile.TemporaryDirectory(prefix="a folder with % and space ") as name:
        Path(name).chmod(0o755)
        folder = Path(name) / "migrations"
        ignored = shutil.ignore_patterns("__pycache__")
        shutil.copytree(upgrade.scripts_folder(), folder, ignore=ignored)

        def add(script: str) -> None:
            (folder / "versions" / f"{NEXT}_next.py").write_text(script)
            monkeypatch.setattr(upgrade, "scripts_folder", lambda: folder)
            monkeypatch.setattr(schema_state, "NEWEST_REVISION", NEXT)

        yield add
