"""Numbers of new rows that are given out many at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection

from fleetcal.store.engines.kinds import kind_of


def next_numbers(table: Any, connection: Connection, count: int) -> Sequence[int]:
    """Return rising numbers for new rows that no other program is given.

    Args:
        connection: Of a writing transaction.
    """
    return kind_of(connection).numbers(table, connection, count)


def number_on(table: Any, connection: Connection) -> None:
    """Let new rows be numbered after those that are there.

    Args:
        connection: Of a writing transaction.
    """
    kind_of(connection).number_on(table, connection)
