"""A table as a text to keep: every digit of it, and the same text for the same table."""

from __future__ import annotations

import json
from dataclasses import asdict, fields
from datetime import date
from typing import TYPE_CHECKING, Any

from fleetcal.errors import MalformedFileError
from fleetcal.publish.one_airframe import OneAirframe
from fleetcal.publish.pooled_table import PlottedPoint, PooledTable
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_limit import TableLimit
from fleetcal.publish.table_row import ReadingRow, TableRow

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

_LISTS: dict[str, type[DataclassInstance]] = {
    "rows": TableRow,
    "points": PlottedPoint,
    "curve": TableRow,
    "readings": ReadingRow,
    "limits": TableLimit,
}


def table_record(table: PooledTable) -> str:
    """Return a table as canonical JSON, without what makes it an issue.

    Returns:
        Keys sorted, no blanks, every float to its last digit.
    """
    content = {f.name: getattr(table, f.name) for f in fields(table) if f.name != "issue"}
    for name in _LISTS:
        content[name] = [_kept(row) for row in content[name]]
    content["form"] = asdict(table.form)
    del content["airframe"]  # a group's text is the one that older versions kept
    if table.airframe is not None:
        content["airframe"] = asdict(table.airframe)
    content["made_on"] = table.made_on.isoformat()
    return canonical_json(content)


def canonical_json(content: dict[str, Any]) -> str:
    """Return JSON with sorted keys and no blanks; NaN is refused."""
    return json.dumps(
        content, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )


def table_from_record(text: str) -> PooledTable:
    """Return the table that a text keeps, the inverse of `table_record`.

    Raises:
        MalformedFileError: If the text keeps no table.
    """
    try:
        content = json.loads(text)
        values: dict[str, Any] = {
            key: tuple(value) if isinstance(value, list) else value
            for key, value in content.items()
        }
        for name, kind in _LISTS.items():
            values[name] = tuple(_row(kind, row) for row in content.get(name, ()))
        values["form"] = TableForm(**content["form"])
        if "airframe" in content:
            values["airframe"] = OneAirframe.of_kept(content["airframe"])
        values["made_on"] = date.fromisoformat(content["made_on"])
        values["allowed"] = tuple((ias, error) for ias, error in content["allowed"])
        return PooledTable(**values)
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        raise MalformedFileError(
            f"what is kept of a table cannot be read: {type(error).__name__}",
            "a newer program may have written it; nothing was changed",
        ) from error


def _kept(row: Any) -> list[Any]:
    """Return the values of a row in order."""
    if isinstance(row, TableRow):
        return row.kept()
    return [getattr(row, field.name) for field in fields(row)]


def _row(kind: type[DataclassInstance], values: list[Any]) -> Any:
    """Return a row from its values in order; an older program kept fewer of them."""
    if issubclass(kind, TableRow):
        return kind.of_kept(values)
    names = [field.name for field in fields(kind)]
    if len(values) > len(names):
        raise ValueError
    return kind(**dict(zip(names, values, strict=False)))
