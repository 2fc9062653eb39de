"""A real PostgreSQL server for the tests that need one, emptied for each of them.

With ``--store-engine server`` every store of the command line's tests is a database on it, too.
"""

from __future__ import annotations

import gc
import os
import sqlite3
import tempfile

# As the program itself does, before numpy is loaded: threads cost more than they
# give on small matrices, and change the last digit of a sum.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# What the person who runs the tests prefers is not to be seen, and no test signs in his name.
os.environ["FLEETCAL_KEY"] = tempfile.mkdtemp(prefix="fleetcal-key-") + "/signing-key.json"
os.environ["FLEETCAL_PREFERENCES"] = "/dev/null/preferences.toml"  # which nobody can write

import atexit
import shutil
from collections.abc import Iterator
from typing import Any

import psycopg
import pytest
from hypothesis import HealthCheck, settings
from sqlalchemy import Engine, event

from fleetcal.store import open_store
from tests.begun_once import begin_once
from tests.compiled_once import compile_once
from tests.postgres_server import (
    database_name,
    database_url,
    drop_database,
    make_database,
    serving,
)
from tests.store_places import SERVER

DATABASE = "fleetcal_test"
#: Drivers of the connections that stores were opened with since a test began.
CONNECTED: list[str] = []

# The same examples every time, and no verdict that hangs on how busy the machine is; more of
# them with --hypothesis-profile thorough.
settings.register_profile(
    "any machine",
    max_examples=40,
    derandomize=True,
    database=None,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile("thorough", settings.get_profile("any machine"), max_examples=500)
settings.load_profile("any machine")
compile_once()
begin_once()
atexit.register(shutil.rmtree, os.path.dirname(os.environ["FLEETCAL_KEY"]), ignore_errors=True)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let the stores of tests be databases, and pages be looked at one by one."""
    parser.addoption(
        "--store-engine",
        choices=["file", "server"],
        default="file",
        help="where tests keep their stores: SQLite files, or a PostgreSQL server of their own",
    )
    parser.addoption(
        "--every-page",
        action="store_true",
        help="look at every page of a site in the browser, not at one or two of each kind",
    )


def pytest_configure(config: pytest.Config) -> None:
    """Declare the marks of tests that a server leaves out."""
    for mark in (
        "file_store(why): about a store that is a file; left out on a server",
        "any_store(why): the same wherever the store is; left out on a server",
    ):
        config.addinivalue_line("markers", mark)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Take long tests first; leave out on a server what is about files or only repeated there."""
    items.sort(key=_minutes, reverse=True)
    if config.getoption("--store-engine") != "server":
        return
    repeated = [item for item in items if item.get_closest_marker("any_store") is not None]
    config.hook.pytest_deselected(items=repeated)
    items[:] = [item for item in items if item.get_closest_marker("any_store") is None]
    for item in items:
        mark = item.get_closest_marker("file_store")
        if mark is not None:
            item.add_marker(pytest.mark.skip(reason=f"about files: {mark.args[0]}"))


def _minutes(item: pytest.Item) -> float:
    """Return how long a long test takes, roughly: one if it does not say, none for the others."""
    mark = item.get_closest_marker("long")
    return 0.0 if mark is None else float(mark.kwargs.get("minutes", 1.0))


def pytest_collection_finish() -> None:
    """Let the collector of garbage pass over the thousands of tests themselves."""
    gc.collect()
    gc.freeze()


@event.listens_for(Engine, "connect")
def _do_not_wait_for_the_disk(connection: Any, _record: object) -> None:
    """Tests end programs, never the machine, so what was written is there without waiting."""
    CONNECTED.append(type(connection).__name__)
    if isinstance(connection, sqlite3.Connection):
        connection.execute("PRAGMA synchronous = OFF")


@pytest.fixture(scope="session", autouse=True)
def _chosen_engine(request: pytest.FixtureRequest) -> None:
    if request.config.getoption("--store-engine") == "server":
        SERVER.url = request.getfixturevalue("postgres_url")


@pytest.fixture(autouse=True)
def _databases_of_a_test(_chosen_engine: None) -> Iterator[None]:
    """Throw away the databases that a test made; those of wider fixtures are there before it."""
    before = set(SERVER.databases)
    yield
    for path in set(SERVER.databases) - before:
        SERVER.drop(path)


@pytest.fixture(autouse=True)
def _opens_no_store_where_it_says_so(request: pytest.FixtureRequest) -> Iterator[None]:
    """Hold a test to its mark, for which a server leaves it out."""
    CONNECTED.clear()
    yield
    mark = request.node.get_closest_marker("any_store")
    if mark is not None and mark.args[0] == "opens no store":
        assert CONNECTED == []


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[str]:
    """Return the address of a server that lives as long as the tests."""
    with serving(fsync=False) as url:
        make_database(url, DATABASE)
        yield url


@pytest.fixture
def postgres_store_url(postgres_url: str) -> Iterator[str]:
    """Return the address of a database that holds nothing when the test begins."""
    url = database_url(postgres_url, DATABASE)
    _empty(url)
    yield url
    _empty(url)


@pytest.fixture(scope="session")
def _begun_url(postgres_url: str) -> str:
    """Return the address of a store that is only copied, which takes less than to begin one."""
    url = make_database(postgres_url, f"{DATABASE}_begun")
    open_store(url).close()
    return url


@pytest.fixture
def begun_store_url(postgres_url: str, _begun_url: str) -> Iterator[str]:
    """Return the address of a store that is begun and empty."""
    url = make_database(postgres_url, f"{DATABASE}_copy", database_name(_begun_url))
    yield url
    drop_database(postgres_url, database_name(url))


def _empty(url: str) -> None:
    """Throw everything out of the test database, also whoever a failed test left connected."""
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )
        connection.execute("DROP SCHEMA public CASCADE")
        connection.execute("CREATE SCHEMA public")
