"""Which names for what was not described are left that nothing has any more.

They stay in the tables, so that a change can be taken back, and are shown nowhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from fleetcal.store.plain_reads import Reader, ask, numbers_in_sql
from fleetcal.store.undescribed import is_undescribed

#: Table -> which columns of others refer to it.
_USED_BY: Final[Mapping[str, tuple[tuple[str, str], ...]]] = {
    "aircraft_type": (
        ("airframe", "aircraft_type_id"),
        ("handbook_curve", "aircraft_type_id"),
        ("handbook_cruise", "aircraft_type_id"),
        ("published_issue", "aircraft_type_id"),
    ),
    "static_source": (
        ("equipment_fit", "static_source_id"),
        ("handbook_curve", "static_source_id"),
    ),
    "engine": (("equipment_fit", "engine_id"), ("handbook_cruise", "engine_id")),
    "propeller": (("equipment_fit", "propeller_id"), ("handbook_cruise", "propeller_id")),
}


def idle_names(reader: Reader) -> dict[str, frozenset[int]]:
    """Return the ids that nothing has, by table: of types, static sources, engines, propellers.

    Only those whose name states that nothing was described.
    """
    return {table: _idle(reader, table, users) for table, users in _USED_BY.items()}


def _idle(reader: Reader, table: str, users: tuple[tuple[str, str], ...]) -> frozenset[int]:
    rows = ask(reader, f"SELECT id, name FROM {table}")
    left = {number for number, name in rows if is_undescribed(name)}
    for user, column in users:
        if left:
            query = f"SELECT {column} FROM {user} WHERE {column} IN ({numbers_in_sql(left)})"
            left -= {number for (number,) in ask(reader, query)}
    return frozenset(left)
