"""Transactions that keep what they promise, whatever the database.

A writer holds the lock of all that it touches from its beginning, which is the whole store unless
it says less (`touching`), so that two programs which read and then write cannot undo each other's
work. A reader takes no lock, sees one state and cannot
write. How each database does so stands in `fleetcal.store.engines`.
"""

from __future__ import annotations

import logging

from sqlalchemy import Connection, Engine

from fleetcal.store.engines.kinds import ROWS, TABLES, WRITING, kind_of
from fleetcal.store.schema_state import REVISION_TABLE

# An interruption may meet the pool while it closes a connection. It goes on to the command,
# which tells it; that the pool also wants to print it with all its frames helps nobody.
logging.getLogger("sqlalchemy.pool").addHandler(logging.NullHandler())


def keep_writers_out(connection: Connection, *, sharing: bool = False) -> None:
    """Take the write lock of a store; a file is locked as a whole already.

    Args:
        connection: To a store whose tables are there.
        sharing: Whether only those are kept out who do not share it; see `touching`.

    Raises:
        StoreError: If there is nothing to lock.
    """
    kind_of(connection).lock(connection, REVISION_TABLE, sharing=sharing)


def for_writing(engine: Engine) -> Engine:
    """Return the engine whose transactions write rows; see `keep_writers_out`."""
    return engine.execution_options(**{WRITING: ROWS}, **kind_of(engine).writing)


def for_upgrading(engine: Engine) -> Engine:
    """Return the engine whose transactions may write and on a server hold no lock as yet."""
    return engine.execution_options(**{WRITING: TABLES}, **kind_of(engine).writing)


def for_reading(engine: Engine) -> Engine:
    """Return the engine whose transactions see one state and cannot write."""
    return engine.execution_options(**kind_of(engine).reading)
