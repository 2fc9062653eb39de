"""What keeps the history as it was written: the database itself, by triggers.

On both engines nothing of the history is changed or deleted, whoever asks. On a server person
and moment of a change are written by the server (`SESSION_USER`), links are numbered and hashed
there, and the row with the store's revision is its owner's alone to change. A backup that is
brought back replaces the history, so the triggers are lifted for it within its transaction,
which on a server the owner of the tables alone can.

Triggers are in each engine's own language (`engines/sqlite_guard.py`, `postgresql_guard.py`). An
engine without any relies on the rights that are given and on `store check`.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection

from fleetcal.store.engines.guard import KEPT
from fleetcal.store.engines.kinds import kind_of

__all__ = ["KEPT", "lifted", "missing", "put_up", "take_down"]


def put_up(connection: Connection) -> None:
    """Make the triggers that are not there; tables that are rebuilt may lose theirs.

    Args:
        connection: Of the owner of the tables, in a writing transaction.
    """
    kind_of(connection).guard.put_up(connection)


def take_down(connection: Connection) -> None:
    """Remove the triggers, before the tables go back to an older revision."""
    kind_of(connection).guard.take_down(connection)


@contextmanager
def lifted(connection: Connection) -> Iterator[None]:
    """Let the history be replaced inside the block, as one with all that the transaction does.

    Args:
        connection: In a writing transaction.

    Raises:
        DBAPIError: On a server, if its user does not own the tables.
    """
    guard = kind_of(connection).guard
    guard.lift(connection)
    yield
    guard.put_back(connection)


def missing(connection: Connection) -> list[str]:
    """Return the names of the triggers that are not there as they should be."""
    return kind_of(connection).guard.missing(connection)
