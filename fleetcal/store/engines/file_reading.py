"""A file read by Python's own driver: as one state, and without SQLAlchemy.

SQLAlchemy takes a third of a second of a processor to load, most of what a short answer took
(`python -X importtime -c 'import sqlalchemy.orm'`), so nothing here needs it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

from fleetcal.errors import FleetcalError, StoreError
from fleetcal.store.engines.sqlite_seal import refuse_mixed_file
from fleetcal.store.messages import busy, damaged, first_line, not_a_store, unwritable
from fleetcal.store.plain_reads import PlainReader


class FileReader(PlainReader):
    """A file in one transaction that sees one state and cannot write."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    def rows(self, sql: str, values: Mapping[str, object]) -> Iterable[tuple[Any, ...]]:
        """Return the rows of a query, fetched as they are taken; see `PlainReader`."""
        plain = {n: v.isoformat() if isinstance(v, date) else v for n, v in values.items()}
        return self._connection.execute(sql, plain)

    def tables(self) -> set[str]:
        """Return the names of all tables."""
        query = """SELECT name FROM sqlite_master
            WHERE type = 'table' AND name NOT LIKE 'sqlite~_%' ESCAPE '~'"""
        return {name for (name,) in self._connection.execute(query)}

    def refuse_mixture(self, label: str) -> None:
        """Raise if the pages of the file are not of one moment; see `sqlite_seal`.

        Raises:
            StoreError: If so.
        """
        refuse_mixed_file(self._connection, label)


@contextmanager
def reading_file(path: Path, *, label: str, patience_s: float) -> Iterator[FileReader]:
    """Yield a reader of a file that is there.

    Args:
        label: How the store is called in messages.
        patience_s: Seconds to wait for another program that writes.

    Raises:
        FleetcalError: In place of any error of the driver.
    """
    try:
        connection = open_file_connection(path, patience_s=patience_s)
        try:
            begin_reading(connection)
            yield FileReader(connection)
        finally:
            connection.close()
    except sqlite3.Error as error:
        raise explain_file_error(error, label) from error


def begin_reading(connection: sqlite3.Connection) -> None:
    """Begin a transaction that sees one state and cannot write."""
    connection.execute("PRAGMA query_only=ON")
    connection.execute("BEGIN")


def open_file_connection(
    path: Path, *, patience_s: float, mode: str = "rw", foreign_keys: bool = True
) -> sqlite3.Connection:
    """Open one SQLite connection that leaves transactions to the caller.

    Args:
        path: The store's file.
        patience_s: Seconds to wait for another writer.
        mode: ``rw``, ``rwc`` (create) or ``ro``.
        foreign_keys: Off only while tables are rebuilt: the rebuild of a parent table counts as a
            deletion of its rows. It cannot be changed inside a transaction.
    """
    connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={mode}",
        uri=True,
        timeout=patience_s,
        isolation_level=None,
        check_same_thread=False,
    )
    try:
        connection.execute(f"PRAGMA foreign_keys={'ON' if foreign_keys else 'OFF'}")
    except BaseException:
        connection.close()
        raise
    return connection


def explain_file_error(error: BaseException, label: str) -> FleetcalError:
    """Explain by the primary result code (SQLite, "Result and Error Codes")."""
    code = (getattr(error, "sqlite_errorcode", 0) or 0) & 0xFF
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return busy(label)
    # A journal that cannot be made beside the file shows as "cannot open".
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM):
        return unwritable(label)
    if code == sqlite3.SQLITE_NOTADB:
        return not_a_store(label, "it is not a database file")
    if code == sqlite3.SQLITE_CORRUPT:
        return damaged(label, error)
    if code == sqlite3.SQLITE_FULL:
        return StoreError(f"{label}: the disk is full", "make room; nothing was stored")
    if code == sqlite3.SQLITE_IOERR:
        return StoreError(
            f"{label}: the disk refused to read or write ({first_line(error)})",
            "check for free space, a limit on file sizes and a disconnected network drive; "
            "nothing was stored",
        )
    return StoreError(f"{label}: {first_line(error)}", "nothing was stored")
