"""Numbers of new rows that are given out many at once."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, func, select, text


def next_numbers(table: Any, connection: Connection, count: int) -> range:
    """Return numbers for new rows; only the one writer of a store may ask.

    Args:
        connection: Of a writing transaction.

    Returns:
        Beginning behind the highest number in use, as SQLite itself does.
    """
    first = (connection.execute(select(func.max(table.c.id))).scalar() or 0) + 1
    return range(first, first + count)


def number_on(table: Any, connection: Connection) -> None:
    """Let a server number new rows after those that are there; a file does so by itself.

    Args:
        connection: Of a writing transaction.
    """
    if connection.dialect.name != "postgresql":
        return
    last = connection.execute(select(func.max(table.c.id))).scalar()
    sequence = text("SELECT setval(pg_get_serial_sequence(:name, 'id'), :last, :used)")
    connection.execute(sequence, {"name": table.name, "last": last or 1, "used": last is not None})
