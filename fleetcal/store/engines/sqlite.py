"""SQLite: a store that is one file.

SQLite's driver would begin a transaction only at the first write, so that two
programs which read and then write can undo each other's work. Here the driver
begins nothing: a writer starts with BEGIN IMMEDIATE, a reader with BEGIN on a
connection that cannot write. The journal stays a rollback journal: a store is
one file that may be mailed around or lie on a network drive.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterator
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any, ClassVar

from sqlalchemy import Connection, Engine, create_engine, event, func, select
from sqlalchemy.dialects.sqlite import REAL
from sqlalchemy.pool import NullPool
from sqlalchemy.types import TypeEngine

from fleetcal.errors import FleetcalError, StoreError
from fleetcal.store.engines.kind import WRITING, Kind
from fleetcal.store.engines.sqlite_guard import SqliteGuard
from fleetcal.store.engines.sqlite_lock import begin_writing
from fleetcal.store.engines.sqlite_seal import driver_of, refuse_mixed_file, seal
from fleetcal.store.messages import busy, damaged, first_line, not_a_store, unwritable


class Sqlite(Kind):
    """One file, or another engine that keeps SQLite's tables."""

    name = "sqlite"
    is_file = True
    guard = SqliteGuard()
    real: ClassVar[TypeEngine[Any]] = REAL()  # the only word for it that strict tables know

    def moment(self, moment: datetime) -> datetime:
        """Return the moment without its zone, which SQLite would drop."""
        return moment.replace(tzinfo=None)

    def numbers(self, table: Any, connection: Connection, count: int) -> range:
        """Return the numbers behind the highest in use: there is one writer."""
        first = (connection.execute(select(func.max(table.c.id))).scalar() or 0) + 1
        return range(first, first + count)

    def damage(self, connection: Connection) -> Iterator[str]:
        """Yield what is wrong with pages, indexes, NOT NULL and CHECK."""
        for (row,) in connection.exec_driver_sql("PRAGMA integrity_check(20)"):
            if row != "ok":
                yield str(row).splitlines()[0]

    def orphans(self, connection: Connection) -> Collection[tuple[Any, ...]]:
        """Return rows that lost what they refer to while references were not looked after."""
        found = connection.exec_driver_sql("PRAGMA foreign_key_check")
        return [tuple(row)[:3] for row in found.fetchall()]

    def refuse_mixture(self, connection: Connection, label: str) -> None:
        """Raise if the pages of the file are not of one moment; see `sqlite_seal`.

        Raises:
            StoreError: If so.
        """
        refuse_mixed_file(driver_of(connection), label)

    def owns(self, error: BaseException | None) -> bool:
        """Tell whether an error is of Python's own driver."""
        return isinstance(error, sqlite3.Error)

    def explain(self, error: BaseException, label: str, statement: str) -> FleetcalError:
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


def file_engine(
    path: Path, *, patience_s: float, mode: str = "rw", foreign_keys: bool = True
) -> Engine:
    """Return an engine on an SQLite file; parameters as in `open_file_connection`."""
    engine = create_engine(
        "sqlite://",
        creator=partial(
            open_file_connection,
            path,
            patience_s=patience_s,
            mode=mode,
            foreign_keys=foreign_keys,
        ),
        poolclass=NullPool,
    )

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        if connection.get_execution_options().get(WRITING):
            # Some other tool may have switched the file to a journal with side files.
            connection.exec_driver_sql("PRAGMA journal_mode=DELETE")
            begin_writing(connection, patience_s)
        else:
            connection.exec_driver_sql("PRAGMA query_only=ON")
            connection.exec_driver_sql("BEGIN")

    @event.listens_for(engine, "commit")
    def commit(connection: Connection) -> None:
        if connection.get_execution_options().get(WRITING):
            seal(connection)

    return engine
