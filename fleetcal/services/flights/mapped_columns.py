"""Columns of a log that somebody names by choosing, turned into a mapping file."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fleetcal.errors import DataError, MalformedFileError
from fleetcal.flightlog import (
    QUANTITIES,
    LogMapping,
    MappedColumn,
    any_table,
    is_igc,
    map_columns,
    mapping_toml,
    read_mapping,
    track_reference,
    understand_columns,
    units_for,
)


@dataclass(frozen=True)
class ColumnMeaning:
    """What one column is to hold.

    Attributes:
        column: Its heading, or its number from 1.
        quantity: Empty if it is not to be used.
        unit: Empty if heading or cells tell it.
    """

    column: str | int
    quantity: str
    unit: str = ""


def known_quantities() -> dict[str, tuple[str, ...]]:
    """Return all that a column may hold, each with its units; none for a text."""
    return {quantity: units_for(quantity) for quantity in QUANTITIES}


def mended_mapping(
    path: Path, before: Path | None, meanings: Sequence[ColumnMeaning], north: str = ""
) -> str:
    """Return the text of a mapping that reads a log as somebody chose.

    Args:
        before: The mapping that the log was read with.
        meanings: Of the columns that were looked at; the others stay as they are understood.
        north: true or magnetic; empty to leave it as it is understood.

    Raises:
        DataError: If the columns of the file are fixed by its format, two columns are to hold the
            same, or a column has no such unit.
    """
    if is_igc(path):
        raise DataError(
            f"{path.name}: its format says what its fields are", "there is nothing to choose"
        )
    mapping = read_mapping(before) if before is not None else None
    table = any_table(path, mapping)
    understood = map_columns(table, understand_columns(table), mapping)
    used = [meaning for meaning in meanings if meaning.quantity]
    _refuse_twice(path.name, used)
    ignored = [meaning.column for meaning in meanings if not meaning.quantity]
    codes = {choice.quantity: choice.missing for choice in understood}
    chosen = LogMapping(
        source_name="what was chosen",
        columns=tuple(
            MappedColumn(
                quantity=meaning.quantity,
                column=meaning.column,
                unit=meaning.unit or None,
                missing=codes.get(meaning.quantity, ()),
            )
            for meaning in used
        ),
        ignore=tuple(ignored),
        part=mapping.part if mapping else None,
    )
    choices = map_columns(table, understood, chosen)
    stated = north or (mapping.north if mapping else None) or track_reference(table, choices)
    text = mapping_toml(table, choices, stated)
    part = f"part = {chosen.part}\n" if chosen.part else ""
    left = f"ignore = {json.dumps(ignored, ensure_ascii=False)}\n" if ignored else ""
    return left + part + text


def _refuse_twice(name: str, meanings: Sequence[ColumnMeaning]) -> None:
    taken: dict[str, ColumnMeaning] = {}
    for meaning in meanings:
        if meaning.quantity not in QUANTITIES:
            raise MalformedFileError(
                f"{name}: {meaning.quantity!r} is no quantity that a column holds",
                "choose one of the list",
            )
        units = units_for(meaning.quantity)
        if meaning.unit and units and meaning.unit not in units:
            raise MalformedFileError(
                f"{name}, column {meaning.column}: {meaning.unit} is no unit of "
                f"{meaning.quantity.replace('_', ' ')}",
                f"choose one of {', '.join(units)}",
            )
        if meaning.quantity in taken:
            raise MalformedFileError(
                f"{name}: columns {taken[meaning.quantity].column} and {meaning.column} are both "
                f"to hold {meaning.quantity.replace('_', ' ')}",
                "choose one, and 'not used' for the other",
            )
        taken[meaning.quantity] = meaning
