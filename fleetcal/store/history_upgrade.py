"""What an upgrade of the tables means for the history that is chained.

An older history is linked as it stands: its names are what was claimed then. What a store holds
gets its first digests. A later upgrade may change rows or give them columns, so their digests
are worked out anew; but only of what was as the history left it before the upgrade. What had
been changed past the program stays found. Each upgrade is a link of its own.
"""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import Connection, insert, inspect, select

from fleetcal.store.history_chain import Content, add_link, contents_kept
from fleetcal.store.history_guard import put_up
from fleetcal.store.history_recording import states_of
from fleetcal.store.models import RowState
from fleetcal.store.row_digests import Unit, all_digests, layout_now, layout_of

_AT_ONCE = 5000


def doubted_before(connection: Connection) -> frozenset[Unit] | None:
    """Return what does not stand as the history left it, before an upgrade.

    Args:
        connection: In the transaction that upgrades.

    Returns:
        None where the history is not chained yet.
    """
    if not inspect(connection).has_table(RowState.__tablename__):
        return None
    left = states_left(connection)
    found = dict(all_digests(connection, layout_of(connection)))
    units = left.keys() | found.keys()
    return frozenset(unit for unit in units if left.get(unit, "") != found.get(unit, ""))


def go_on(connection: Connection, doubted: frozenset[Unit] | None, revision: str) -> None:
    """Link an older history, or what the upgrade itself did to rows.

    Args:
        connection: In the transaction that upgraded.
        doubted: What `doubted_before` gave.
        revision: That the store now has.
    """
    put_up(connection)
    if doubted is None:
        for head, content in list(contents_kept(connection)):
            add_link(connection, head[0], content)
    left = states_left(connection)
    found = dict(all_digests(connection, layout_now()))
    states = [
        (unit, found.get(unit, ""))
        for unit in sorted((left.keys() | found.keys()) - (doubted or frozenset()))
        if left.get(unit, "") != found.get(unit, "")
    ]
    if states:
        _add_states(connection, states, f"upgrade to revision {revision}")


def states_left(connection: Connection) -> dict[Unit, str]:
    """Return the digests that the history says, of everything that it ever touched."""
    query = select(RowState.table_name, RowState.row_id, RowState.digest).order_by(RowState.id)
    rows = connection.execute(query.execution_options(yield_per=_AT_ONCE))
    return {(table, number): digest for table, number, digest in rows}


def content_of_states(states: Iterable[tuple[Unit, str]]) -> str:
    """Return the hash of the content of an upgrade's link."""
    content = Content()
    for (table, number), digest in states:
        content.add((table, number, digest))
    return content.hexdigest()


def _add_states(connection: Connection, states: list[tuple[Unit, str]], note: str) -> None:
    link = add_link(connection, None, content_of_states(states), note)
    for start in range(0, len(states), _AT_ONCE):
        part = states[start : start + _AT_ONCE]
        connection.execute(insert(RowState), states_of(part, history_link_id=link))
