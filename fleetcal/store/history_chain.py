"""The chain of the history: each link's hash covers its content and the hash before it.

The content of a change is who, when, by which command, its changed rows and the digests of the
rows as it left them. A content that was altered, a link that is missing or was put in between
shows, and with it the moment. Whoever may write a file could work the chain out anew, and no
file can prevent that: `store check` prints the newest hash, so that it can be noted elsewhere.
On a server nobody but the owner of the tables could (`fleetcal.store.history_guard`).

Two writers cannot fork the chain. A file has one writer. On a server the rows of a change are
written first, under whatever locks its writer holds; its link comes last, and a trigger numbers
and hashes it under a lock of the server that lasts from there to the end of the transaction. So
writers of different types wait for each other only while one of them commits. Links are
numbered in the order in which changes became visible, which the numbers of changes need not be.

Contents are hashed before that lock is taken, and rows in parts: a change of 100,000 rows takes
about a second for it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any, Final

from sqlalchemy import Connection, insert, select

from fleetcal.store.engines.kinds import kind_of
from fleetcal.store.models import ChangedRow, HistoryLink, RowState, StoreChange
from fleetcal.store.row_digests import Unit

#: What the first link follows.
START: Final = "0" * 64
CHANGE_VALUES: Final = (
    StoreChange.id,
    StoreChange.made_at,
    StoreChange.made_by,
    StoreChange.name_from,
    StoreChange.act,
    StoreChange.undone,
)
ROW_VALUES: Final = (
    ChangedRow.act,
    ChangedRow.table_name,
    ChangedRow.row_id,
    ChangedRow.airframe,
    ChangedRow.values_json,
)
STATE_VALUES: Final = (RowState.table_name, RowState.row_id, RowState.digest)
_AS_JSON: Final = json.JSONEncoder(separators=(",", ":")).encode
_AT_ONCE: Final = 5000
_ROW_NAMES: Final = tuple(column.key for column in ROW_VALUES)


class Content:
    """The hash of what one link stands for, fed in order: changed rows, then states.

    Args:
        head: What `CHANGE_VALUES` select; none of an upgrade.
    """

    def __init__(self, head: Sequence[Any] = ()) -> None:
        self._sum = sha256()
        self.add([_as_text(value) for value in head])

    def add(self, values: Iterable[Any]) -> None:
        """Add a row: what `ROW_VALUES` or `STATE_VALUES` select."""
        self._sum.update(_AS_JSON(list(values)).encode("ascii") + b"\n")

    def hexdigest(self) -> str:
        """Return the hash."""
        return self._sum.hexdigest()


def content_of(
    head: Sequence[Any], rows: Iterable[Mapping[str, Any]], states: Iterable[tuple[Unit, str]]
) -> str:
    """Return the hash of a change that has just been written.

    Args:
        head: What `CHANGE_VALUES` select.
        rows: Values of its changed rows.
        states: Digests of what it touched.
    """
    content = Content(head)
    for row in rows:
        content.add(row[name] for name in _ROW_NAMES)
    for (table, number), digest in states:
        content.add((table, number, digest))
    return content.hexdigest()


def link_hash(before: str, number: int, change: int | None, note: str, content: str) -> str:
    """Return the hash of a link; a server's trigger works out the same.

    Args:
        before: Hash of the link before it, `START` for the first.
        number: Of the link.
        change: Number of the change; None of an upgrade.
        note: Of an upgrade.
    """
    shown = "" if change is None else str(change)
    return sha256(f"{before}\n{number}\n{shown}\n{note}\n{content}".encode()).hexdigest()


def add_link(connection: Connection, change: int | None, content: str, note: str = "") -> int:
    """Add a link behind the newest one, as the last act of a writing transaction.

    Args:
        connection: Of that transaction.
        change: Its change; None of an upgrade.

    Returns:
        The link's number.
    """
    values: dict[str, Any] = {"store_change_id": change, "note": note, "content": content}
    if kind_of(connection).guard.links:
        query = insert(HistoryLink).values(**values, hash="").returning(HistoryLink.id)
        return int(connection.execute(query).scalar_one())
    last = newest_link(connection)
    number, before = (1, START) if last is None else (last[0] + 1, last[1])
    values |= {"id": number, "hash": link_hash(before, number, change, note, content)}
    connection.execute(insert(HistoryLink), values)
    return number


def newest_link(connection: Connection) -> tuple[int, str] | None:
    """Return number and hash of the newest link, None where there is none yet."""
    query = select(HistoryLink.id, HistoryLink.hash).order_by(HistoryLink.id.desc()).limit(1)
    row = connection.execute(query).one_or_none()
    return None if row is None else (row.id, row.hash)


def contents_kept(connection: Connection) -> Iterator[tuple[Sequence[Any], str]]:
    """Yield every change as it is kept, as what `CHANGE_VALUES` select and its content's hash."""
    contents = {}
    heads = {}
    for head in connection.execute(select(*CHANGE_VALUES).order_by(StoreChange.id)):
        heads[head[0]], contents[head[0]] = head, Content(head)
    _add_rows(connection, contents, ChangedRow.store_change_id, ROW_VALUES, ChangedRow.id)
    _add_rows(connection, contents, RowState.store_change_id, STATE_VALUES, RowState.id)
    for number, content in contents.items():
        yield heads[number], content.hexdigest()


def upgrades_kept(connection: Connection) -> dict[int, str]:
    """Return the hash of the content of each upgrade as it is kept, by the number of its link."""
    query = select(HistoryLink.id).where(HistoryLink.store_change_id.is_(None))
    contents = {number: Content() for number in connection.scalars(query)}
    _add_rows(connection, contents, RowState.history_link_id, STATE_VALUES, RowState.id)
    return {number: content.hexdigest() for number, content in contents.items()}


def _add_rows(
    connection: Connection,
    contents: Mapping[int, Content],
    owner: Any,
    values: Sequence[Any],
    order: Any,
) -> None:
    query = select(owner, *values).where(owner.is_not(None)).order_by(order)
    for number, *row in connection.execute(query.execution_options(yield_per=_AT_ONCE)):
        if number in contents:
            contents[number].add(row)


def _as_text(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    return value
