"""The write lock of a file, for which those who wait longest ask most often.

SQLite's own waiting asks ever more seldom, so that newcomers overtake: of eight writers at
once on a busy machine, some went without for half a minute.
"""

from __future__ import annotations

import random
import sqlite3
import time
from time import sleep as nap
from typing import Final

from sqlalchemy import Connection

_FIRST_PAUSE_S: Final = 0.03
_LEAST_PAUSE_S: Final = 0.001
_BUSY: Final = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


def begin_writing(connection: Connection, patience_s: float) -> None:
    """Begin a transaction that holds the file's write lock.

    Args:
        connection: On a file, in no transaction of the driver's.
        patience_s: Seconds to wait for other programs.

    Raises:
        sqlite3.OperationalError: If another program holds the lock all the while.
    """
    file = connection.connection.dbapi_connection
    assert isinstance(file, sqlite3.Connection)
    began = time.monotonic()
    file.execute("PRAGMA busy_timeout = 0")
    try:
        while not _begun(file, last=time.monotonic() - began >= patience_s):
            waited = time.monotonic() - began
            pause = max(_LEAST_PAUSE_S, _FIRST_PAUSE_S / (1.0 + 4.0 * waited))
            nap(pause * random.uniform(0.5, 1.5))  # no two in step
    finally:
        file.execute(f"PRAGMA busy_timeout = {round(patience_s * 1000)}")


def _begun(file: sqlite3.Connection, *, last: bool) -> bool:
    """Try once; a lock that is held is an error only at the last attempt."""
    try:
        file.execute("BEGIN IMMEDIATE")
    except sqlite3.OperationalError as error:
        if last or error.sqlite_errorcode & 0xFF not in _BUSY:
            raise
        return False
    return True
