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
from functools import lru_cache, partial
from pathlib import Path
from typing import Any, ClassVar

from sqlalchemy import Connection, Engine, create_engine, event, func, select
from sqlalchemy.dialects.sqlite import REAL
from sqlalchemy.pool import NullPool
from sqlalchemy.types import TypeEngine

from fleetcal.errors import FleetcalError
from fleetcal.store.engines.file_reading import explain_file_error, open_file_connection
from fleetcal.store.engines.kind import WRITING, Kind
from fleetcal.store.engines.sqlite_guard import SqliteGuard
from fleetcal.store.engines.sqlite_lock import begin_writing
from fleetcal.store.engines.sqlite_seal import driver_of, refuse_mixed_file, seal


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
        """Explain by the primary result code; see `file_reading`."""
        return explain_file_error(error, label)


@lru_cache(maxsize=8)
def file_engine(
    path: Path, *, patience_s: float, mode: str = "rw", foreign_keys: bool = True
) -> Engine:
    """Return an engine on an SQLite file; parameters as in `open_file_connection`.

    A store that is opened again has the engine of before, and with it the SQL that was compiled:
    an engine holds no connection, so threads and forked processes may share it.
    """
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
