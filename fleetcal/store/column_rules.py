"""The rules of a table's columns, as the records say them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import CheckConstraint

from fleetcal.records import RecordColumn, columns_of

if TYPE_CHECKING:
    from _typeshed import DataclassInstance


def rules_of(record: type[DataclassInstance]) -> tuple[CheckConstraint, ...]:
    """Return one named CHECK for each column of a record that has a rule."""
    rules = ((name, _rule(column)) for name, column in columns_of(record).items())
    return tuple(CheckConstraint(rule[0], name=f"{name}_{rule[1]}") for name, rule in rules if rule)


def _rule(column: RecordColumn) -> tuple[str, str] | None:
    """Return condition and name of what a column must hold; an empty one always passes."""
    name = column.name
    if column.words:
        return f"{name} IN ({', '.join(map(repr, column.words))})", "known"
    if column.kind is str:
        return None if column.blank else (f"length(trim({name})) > 0", "filled")
    limits = ((">", column.above), (">=", column.lowest), ("<=", column.highest))
    parts = [f"{name} {sign} {limit:g}" for sign, limit in limits if limit is not None]
    if not parts:
        return None
    return " AND ".join(parts), "positive" if parts == [f"{name} > 0"] else "range"
