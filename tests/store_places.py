"""Where tests keep their stores: files, or databases on a real server under the same names.

Tests name a store by the path of a file. With ``--store-engine server`` each path stands for a
database of its own on a server that only this process of the tests uses, so that processes
side by side do not meet; copying a store copies the database.
"""

from __future__ import annotations

import atexit
import shutil
import sqlite3
import tempfile
from collections.abc import Collection, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import psycopg
from psycopg import sql
from sqlalchemy.engine import make_url

from fleetcal.store import open_store


@dataclass
class Server:
    """The server that stores are put on, None for files, and the databases made there by path."""

    url: str | None = None
    databases: dict[Path, str] = field(default_factory=dict)
    made: int = 0

    def database(self, path: Path, template: str | None = None) -> str:
        """Return the address of the database that stands for a path; make it if need be."""
        assert self.url is not None
        name = self.databases.get(path)
        if name is not None and template is not None:
            self._run("DROP DATABASE {}", name)
        if name is None:
            self.made += 1
            name = self.databases[path] = f"store_{self.made}"
        elif template is None:
            return self._address(name)
        self._run("CREATE DATABASE {} TEMPLATE {}", name, template or "template1")
        return self._address(name)

    def database_apart(self, name: str) -> str:
        """Make a database that stands for no path and stays as long as the server."""
        self._run("CREATE DATABASE {}", name)
        return self._address(name)

    def drop(self, path: Path) -> None:
        """Throw a database away, also if a failed test left somebody connected."""
        self._run("DROP DATABASE {} WITH (FORCE)", self.databases.pop(path))

    def _address(self, name: str) -> str:
        assert self.url is not None
        return make_url(self.url).set(database=name).render_as_string(hide_password=False)

    def _run(self, statement: str, *names: str) -> None:
        assert self.url is not None
        with psycopg.connect(self.url, autocommit=True) as connection:
            connection.execute(sql.SQL(statement).format(*map(sql.Identifier, names)))


SERVER = Server()
NO_TABLES = b"{}"


def store_at(path: Path) -> str:
    """Return the place of a store that is perhaps not begun: the path, or its database."""
    return str(path) if SERVER.url is None else SERVER.database(path)


def begun_at(path: Path) -> str:
    """Return the place of a store that is begun and empty, copied from one that was begun once."""
    assert not path.exists(), path
    return copy_store(_begun(), path)


@cache
def _begun() -> str:
    """Begin a store, which takes longer than many a test."""
    if SERVER.url is not None:
        place = SERVER.database_apart("begun_and_empty")
    else:
        folder = tempfile.mkdtemp(prefix="fleetcal-begun-")
        atexit.register(shutil.rmtree, folder, ignore_errors=True)
        place = str(Path(folder) / "store.sqlite3")
    open_store(place).close()
    return place


def copy_store(place: str | Path, path: Path) -> str:
    """Copy a store and return the place of the copy."""
    if SERVER.url is None:
        return str(shutil.copy(place, path))
    return SERVER.database(path, make_url(str(place)).database)


@contextmanager
def opened(place: str, *, careless: bool = False) -> Iterator[Any]:
    """Yield a driver's own connection to a store, committed at the end.

    A careless one breaks references, on a file also the rules on values.
    """
    if "://" not in place:
        with closing(sqlite3.connect(place, timeout=30.0)) as connection, connection:
            if careless:
                connection.execute("PRAGMA ignore_check_constraints = ON")
            yield connection
        return
    with psycopg.connect(place) as served:
        if careless:
            served.execute("SET session_replication_role = replica")
        yield served


def change(place: str, statement: str, values: Sequence[object] = ()) -> int:
    """Change rows behind the program's back; values go in where the statement has ``?``."""
    with opened(place, careless=True) as connection:
        if "://" in place:
            statement = statement.replace("%", "%%").replace("?", "%s")
        return int(connection.execute(statement, tuple(values)).rowcount)


def held(place: str, leaving_out: Collection[str] = ()) -> bytes:
    """Return all that a store holds: the file, or every row of a database, some tables left out."""
    if "://" not in place:
        return Path(place).read_bytes()
    with psycopg.connect(place) as connection:
        names = connection.execute(
            "SELECT table_name FROM information_schema.tables"
            " WHERE table_schema = 'public' ORDER BY table_name"
        ).fetchall()
        rows = {
            name: connection.execute(
                sql.SQL("SELECT * FROM {} ORDER BY 1").format(sql.Identifier(name))
            ).fetchall()
            for (name,) in names
            if name not in leaving_out
        }
    return repr(rows).encode()


def held_below(folder: Path) -> dict[str, bytes]:
    """Return what the databases hold that stand for paths below a folder."""
    found = {
        str(path.relative_to(folder)): held(SERVER.database(path))
        for path in sorted(SERVER.databases)
        if path.is_relative_to(folder)
    }
    return {name: content for name, content in found.items() if content != NO_TABLES}
