"""A real PostgreSQL server for the tests that need one, emptied for each of them."""

from __future__ import annotations

import os

# As the program itself does, before numpy is loaded: threads cost more than they
# give on small matrices, and change the last digit of a sum.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from collections.abc import Iterator

import psycopg
import pytest

from tests.postgres_server import database_url, make_database, serving

DATABASE = "fleetcal_test"


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


def _empty(url: str) -> None:
    """Throw everything out of the test database, also whoever a failed test left connected."""
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )
        connection.execute("DROP SCHEMA public CASCADE")
        connection.execute("CREATE SCHEMA public")
