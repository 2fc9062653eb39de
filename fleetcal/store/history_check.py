"""Whether the history is as it was written, and the store as its history left it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import Any, Final

from sqlalchemy import Connection, func, select
from sqlalchemy.orm import Session

from fleetcal.store.history_chain import (
    START,
    contents_kept,
    link_hash,
    upgrades_kept,
)
from fleetcal.store.history_guard import missing
from fleetcal.store.history_upgrade import states_left
from fleetcal.store.models import Airframe, HistoryLink, RowState, Sortie, StoreChange
from fleetcal.store.row_digests import Unit, all_digests, layout_now

_MOST_OF_A_TABLE: Final = 20
_PAST_US: Final = "it was changed past the program"


def history_faults(session: Session) -> Iterator[tuple[str, str]]:
    """Yield what of the history is not as it was written, as (where, what is wrong).

    Args:
        session: Reading.
    """
    connection = session.connection()
    absent = missing(connection)
    if absent:
        yield (
            "history",
            f"{len(absent)} of the triggers that keep it are missing ({absent[0]}): "
            "somebody removed them to change it",
        )
    kept = {head[0]: (head, content) for head, content in contents_kept(connection)}
    upgrades = upgrades_kept(connection)
    links = connection.execute(
        select(
            *(HistoryLink.id, HistoryLink.store_change_id, HistoryLink.note),
            *(HistoryLink.content, HistoryLink.hash),
        ).order_by(HistoryLink.id)
    ).all()
    yield from _chain(links, {number: head for number, (head, _) in kept.items()})
    linked = set()
    for link in links:
        linked.add(link.store_change_id)
        if link.store_change_id is None:
            if upgrades[link.id] != link.content:
                yield (
                    f"history, link {link.id}",
                    f"the states noted at the {link.note} were altered",
                )
        elif link.store_change_id not in kept:
            yield f"change {link.store_change_id}", "it is missing from the history"
        elif kept[link.store_change_id][1] != link.content:
            yield _named(kept[link.store_change_id][0]), "its entry or its rows were altered"
    for number, (head, _) in kept.items():
        if number not in linked:
            yield _named(head), "it was put into the history past the program"


def _chain(links: Sequence[Any], heads: dict[int, Sequence[Any]]) -> Iterator[tuple[str, str]]:
    """Find links that are missing, or do not follow the one before."""
    before, expected = START, 1
    for link in links:
        where = f"history, link {link.id}"
        if link.store_change_id in heads:
            where = _named(heads[link.store_change_id])
        if link.id != expected:
            gone = "1 link is" if link.id == expected + 1 else f"{link.id - expected} links are"
            yield where, f"{gone} missing from the history before it"
        values = (link.id, link.store_change_id, link.note, link.content)
        if link.hash != link_hash(before, *values):
            yield where, "its link to the change before it is broken"
        before, expected = link.hash, link.id + 1


def rows_past_history(session: Session) -> Iterator[tuple[str, str]]:
    """Yield what does not stand as its last change left it, as (where, what is wrong).

    Args:
        session: Reading.
    """
    connection = session.connection()
    known = layout_now()
    left = {unit: now for unit, now in states_left(connection).items() if unit[0] in known}
    odd: dict[str, list[tuple[Unit, str]]] = defaultdict(list)
    for unit, digest in all_digests(connection, known):
        was = left.pop(unit, "")
        if not was:
            odd[unit[0]].append((unit, "no entry of the history added it: " + _PAST_US))
        elif was != digest:
            odd[unit[0]].append((unit, f"{_PAST_US} since {_last(connection, unit)}"))
    for unit, was in left.items():
        if was:
            last = _last(connection, unit)
            odd[unit[0]].append((unit, f"it is gone, and was there after {last}"))
    for table, found in sorted(odd.items()):
        for unit, what in found[:_MOST_OF_A_TABLE]:
            yield _unit_named(session, unit), what
        if len(found) > _MOST_OF_A_TABLE:
            yield table, f"{len(found) - _MOST_OF_A_TABLE} more rows that the history does not know"


def _last(connection: Connection, unit: Unit) -> str:
    """Return which change touched something last, in words."""
    newest = select(func.max(RowState.id)).where(
        RowState.table_name == unit[0], RowState.row_id == unit[1]
    )
    query = (
        select(*(StoreChange.id, StoreChange.made_at, StoreChange.made_by), StoreChange.act)
        .join(RowState, RowState.store_change_id == StoreChange.id)
        .where(RowState.id == newest.scalar_subquery())
    )
    row = connection.execute(query).one_or_none()
    if row is None:
        return "the upgrade of the store"
    return f"change {row.id} of {row.made_at:%Y-%m-%d %H:%M} UTC by {row.made_by} ({row.act})"


def _named(head: Sequence[Any]) -> str:
    number, made_at, made_by = head[:3]
    return f"change {number} of {made_at:%Y-%m-%d %H:%M} UTC by {made_by}"


def _unit_named(session: Session, unit: Unit) -> str:
    table, number = unit
    if table != "sortie":
        return f"{table.replace('_', ' ')} {number}"
    query = select(Airframe.tag, Sortie.flown_on).join(Sortie, Sortie.airframe_id == Airframe.id)
    row = session.execute(query.where(Sortie.id == number)).one_or_none()
    return f"sortie {number}" + ("" if row is None else f" of {row.tag} on {row.flown_on}")
