"""Database engines whose transactions keep what they promise.

SQLite's driver would begin a transaction only at the first write, so that two
programs which read and then write can undo each other's work. Here the driver
begins nothing: a writer starts with BEGIN IMMEDIATE, a reader with BEGIN on a
connection that cannot write. The journal stays a rollback journal: a store is
one file that may be mailed around or lie on a network drive.
On a server a writer locks the row with the store's revision for the same reason: a row lock
is what every engine with this SQL has. Who makes or upgrades tables has no such row at first
and begins without it.

A reader takes no lock and sees one state. Of two programs that begin one store the later is
refused the first table (SQLSTATE 42P07 or 23505), looks again and finds the store.
"""

from __future__ import annotations

import logging
import sqlite3
from functools import partial
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.pool import NullPool

from fleetcal.errors import StoreError
from fleetcal.store.addresses import connecting
from fleetcal.store.file_lock import begin_writing
from fleetcal.store.schema_state import REVISION_TABLE
from fleetcal.store.seal import seal

WRITING = "fleetcal_writing"
_ROWS, _TABLES = "rows", "tables"
# An interruption may meet the pool while it closes a connection. It goes on to the command,
# which tells it; that the pool also wants to print it with all its frames helps nobody.
logging.getLogger("sqlalchemy.pool").addHandler(logging.NullHandler())


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


def server_engine(url: URL, *, patience_s: float) -> Engine:
    """Return an engine on a PostgreSQL database.

    Args:
        url: Address with driver.
        patience_s: Seconds to wait for another writer.
    """
    # Between a program and its server may stand one that lends out a connection for each
    # transaction: what psycopg prepares on one of them is not there, or there twice, on the next.
    engine = create_engine(
        url, pool_pre_ping=True, connect_args={"prepare_threshold": None, **connecting(url)}
    )

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        writing = connection.get_execution_options().get(WRITING)
        if writing:
            milliseconds = max(1, round(patience_s * 1000))
            connection.exec_driver_sql(f"SET LOCAL lock_timeout = {milliseconds}")
        if writing == _ROWS:
            keep_writers_out(connection)

    return engine


def keep_writers_out(connection: Connection) -> None:
    """Take the one write lock of a store on a server; a file is locked as a whole already.

    Args:
        connection: To a store whose tables are there.

    Raises:
        StoreError: If there is nothing to lock.
    """
    if connection.dialect.name != "postgresql":
        return
    locking = f"SELECT version_num FROM {REVISION_TABLE} FOR UPDATE"
    if connection.exec_driver_sql(locking).first() is None:
        raise StoreError("the store has lost its revision number", "go back to a saved copy")


def for_writing(engine: Engine) -> Engine:
    """Return the engine whose transactions hold the store's one write lock."""
    return engine.execution_options(**{WRITING: _ROWS})


def for_upgrading(engine: Engine) -> Engine:
    """Return the engine whose transactions may write and on a server hold no lock as yet."""
    return engine.execution_options(**{WRITING: _TABLES})


def for_reading(engine: Engine) -> Engine:
    """Return the engine whose transactions see one state and cannot write."""
    options: dict[str, Any] = {}
    if engine.dialect.name == "postgresql":
        options = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
    return engine.execution_options(**options)
