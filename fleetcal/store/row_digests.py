"""Digests of what stands in the store, by which a row that was changed past the program is found.

Every change keeps the digest of each row that it touched as it left it, in `row_state`, under
the hash of the change. So what stands in the store must be what its last change left, whatever
wrote to the file or the database meanwhile. A sortie is taken together with its legs, points,
budgets, climbs and powers, a bench check with its rows; every other row is taken alone. Pieces
of kept logs are left out: a log has a hash of its own.

Rows are read again from the database as they are about to be kept, so nothing that writes them
can forget a value. A digest is the first half of the SHA-256 of all values, columns by name, the
same on every engine. They are written out as marshal's format 2 has it, nineteen times as fast
as JSON: a letter for the kind, then four bytes of an integer, eight of a float, or the length
of a text and the text. A test spells it out, so that no other Python can change it unseen.
"""

from __future__ import annotations

import marshal
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, date, datetime
from hashlib import sha256
from itertools import groupby
from operator import itemgetter
from typing import Any, Final

from sqlalchemy import Connection, inspect

from fleetcal.store.engines.kinds import kind_of
from fleetcal.store.models import Base

#: A row that is taken alone or with its parts: the name of its table, and its number.
Unit = tuple[str, int]
#: Names of the columns of each table, in order.
Layout = Mapping[str, Sequence[str]]

_AT_ONCE: Final = 400
_LENGTH: Final = 32
_FORMAT: Final = 2
_OWN_HISTORY: Final = frozenset({"store_change", "changed_row", "row_state", "history_link"})
_POINT: Final = "calibration_point"
# Of each part, the column that refers to what it belongs to, and that one's table.
PARTS: Final[Mapping[str, tuple[str, str]]] = {
    "leg": ("sortie_id", "sortie"),
    _POINT: ("sortie_id", "sortie"),
    "climb_measurement": ("sortie_id", "sortie"),
    "uncertainty_term": ("calibration_point_id", _POINT),
    "cruise_power": ("calibration_point_id", _POINT),
    "bench_row": ("bench_check_id", "bench_check"),
}
#: Tables of which no digest is kept.
LEFT_OUT: Final = _OWN_HISTORY | {"log_piece"}


def layout_now() -> Layout:
    """Return the columns of this program's tables."""
    tables = Base.metadata.tables.values()
    return {
        str(t.name): sorted(map(str, t.columns.keys())) for t in tables if t.name not in LEFT_OUT
    }


def layout_of(connection: Connection) -> Layout:
    """Return the columns of a store of any revision, of the tables that this program knows."""
    found = inspect(connection)
    there = set(found.get_table_names()) & layout_now().keys()
    return {t: sorted(str(c["name"]) for c in found.get_columns(t)) for t in sorted(there)}


def unit_tables(layout: Layout) -> list[str]:
    """Return the tables whose rows are taken alone or with their parts."""
    return [name for name in layout if name not in PARTS]


def digests_of(connection: Connection, units: Iterable[Unit]) -> Iterator[tuple[Unit, str]]:
    """Yield the digests of rows as they stand; empty where there is none.

    Args:
        connection: In any transaction.
    """
    layout = layout_now()
    for table, group in groupby(sorted(set(units)), key=itemgetter(0)):
        numbers = [number for _, number in group]
        for start in range(0, len(numbers), _AT_ONCE):
            part = numbers[start : start + _AT_ONCE]
            found = _digests(connection, layout, table, part)
            yield from (((table, number), found.get(number, "")) for number in part)


def all_digests(connection: Connection, layout: Layout) -> Iterator[tuple[Unit, str]]:
    """Yield the digest of everything that stands in a store, by table and number."""
    for table in unit_tables(layout):
        query = f"SELECT id FROM {table} ORDER BY id"
        numbers = [row[0] for row in connection.exec_driver_sql(query)]
        for start in range(0, len(numbers), _AT_ONCE):
            part = numbers[start : start + _AT_ONCE]
            found = _digests(connection, layout, table, part)
            yield from (((table, number), found[number]) for number in part)


def _digests(
    connection: Connection, layout: Layout, table: str, numbers: Sequence[int]
) -> dict[int, str]:
    """Return the digests of the rows that are there, of increasing numbers."""
    rows: dict[int, list[Any]] = {}
    plain = tuple if kind_of(connection).is_file else _plain
    for name in (table, *_parts_of(table, layout)):
        found = connection.exec_driver_sql(_query(layout, table, name, numbers))
        for owner, group in groupby(_raw(found), key=itemgetter(0)):
            if name == table:
                rows[owner] = [name, *map(plain, group)]
            elif owner in rows:
                rows[owner] += [name, *map(plain, group)]
    return {number: digest_of(content) for number, content in rows.items()}


def digest_of(content: list[Any]) -> str:
    """Return the digest of rows as tuples, each table's behind its name.

    The first value of a row is the number that it belongs to.
    """
    return sha256(marshal.dumps(content, _FORMAT)).hexdigest()[:_LENGTH]


def _raw(found: Any) -> list[Sequence[Any]]:
    """Return rows as the driver gives them, which is as plain as they come."""
    rows: list[Sequence[Any]] = found.cursor.fetchall()
    found.close()
    return rows


def _parts_of(table: str, layout: Layout) -> list[str]:
    return [name for name in PARTS if name in layout and _root(name) == table]


def _root(name: str) -> str:
    while name in PARTS:
        name = PARTS[name][1]
    return name


def _query(layout: Layout, table: str, name: str, numbers: Sequence[int]) -> str:
    """Return the rows of a table or of its parts, each behind the number it belongs to."""
    columns = ", ".join(f"t.{column}" for column in layout[name])
    source, owner = f"{name} AS t", "t.id"
    if name != table:
        column, above = PARTS[name]
        owner = f"t.{column}"
        if above != table:
            source += f" JOIN {above} AS p ON p.id = t.{column}"
            owner = f"p.{PARTS[above][0]}"
    if numbers[-1] - numbers[0] + 1 == len(numbers):
        chosen = f"BETWEEN {numbers[0]:d} AND {numbers[-1]:d}"
    else:
        chosen = f"IN ({', '.join(f'{number:d}' for number in numbers)})"
    return f"SELECT {owner}, {columns} FROM {source} WHERE {owner} {chosen} ORDER BY {owner}, t.id"


def _plain(values: Iterable[Any]) -> tuple[Any, ...]:
    """Return the values of a server's driver as a file holds them."""
    return tuple(
        _text_of(value)
        if isinstance(value, date)
        else int(value)
        if value is True or value is False
        else value
        for value in values
    )


def _text_of(moment: date) -> str:
    if not isinstance(moment, datetime):
        return moment.isoformat()
    return moment.astimezone(UTC).strftime("%Y-%m-%d %H:%M:%S.%f")
