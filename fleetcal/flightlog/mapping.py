"""What somebody says about the columns of a log, where its headings do not say it."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final

import numpy as np

from fleetcal.errors import DataError, MalformedFileError, MissingColumnError
from fleetcal.flightlog.columns import ColumnChoice, usual_unit
from fleetcal.flightlog.headings import Heading, take_apart
from fleetcal.flightlog.quantities import KINDS, QuantityMatch
from fleetcal.flightlog.raw_table import RawTable
from fleetcal.flightlog.text_form import MISSING_WORDS
from fleetcal.flightlog.time_form import time_form
from fleetcal.flightlog.unit_words import unit_named, units_of_kind
from fleetcal.plain_file import text_of, toml_of

_CLOCK_UNITS: Final[dict[str, tuple[str, ...]]] = {
    "date_time": ("ymd", "dmy", "mdy"),
    "date": ("ymd", "dmy", "mdy", "ymd8"),
    "time_of_day": ("hh:mm:ss", "hh:mm", "hhmmss"),
    "elapsed_clock": ("hh:mm:ss",),
    "epoch_time": ("s", "ms", "us", "ns"),
    "seconds_of_day": ("s", "ms"),
    "elapsed_time": ("s", "ms", "us", "min", "h"),
}
#: All that a column may hold.
QUANTITIES: Final = (*_CLOCK_UNITS, *(name for name in KINDS if name != "clock"))
_NORTHS: Final = ("true", "magnetic")
_KEYS: Final = ("column", "unit", "missing", "believe")


@dataclass(frozen=True, kw_only=True)
class MappedColumn:
    """One column as somebody describes it.

    Attributes:
        column: Heading, or number counted from 1.
        unit: None if the heading or the cells tell it.
        missing: Further codes that stand for a missing value.
        believe: Whether the column is believed whatever contradicts it.
    """

    quantity: str
    column: str | int
    unit: str | None = None
    missing: tuple[float | str, ...] = ()
    believe: bool = False


@dataclass(frozen=True, kw_only=True)
class LogMapping:
    """What a mapping file says.

    Attributes:
        source_name: Its file name, for messages.
        ignore: Columns to leave alone.
        part: The one part of the file to read, from 1.
        north: true or magnetic: where the tracks count from.
    """

    source_name: str = "mapping"
    columns: tuple[MappedColumn, ...] = ()
    ignore: tuple[str | int, ...] = ()
    part: int | None = None
    north: str | None = None

    @property
    def names_by_number(self) -> bool:
        """Whether columns are named by number, so that a file needs no headings."""
        return any(isinstance(entry.column, int) for entry in self.columns)


def read_mapping(path: str | os.PathLike[str]) -> LogMapping:
    """Read a mapping file.

    Args:
        path (path-like): TOML: ``quantity = { column = "heading" or number, unit = "kt", missing =
            [-1] }``, and at will ``ignore``, ``part`` and ``north``.

    Raises:
        DataError: If the file cannot be read, is no TOML, or says what cannot be.
    """
    place = Path(path)
    try:
        document = toml_of(text_of(place))
    except OSError as error:
        raise DataError(
            f"{place.name} cannot be read: {error.strerror}.", "Check the path."
        ) from None
    except ValueError as error:  # no TOML, or no UTF-8
        raise MalformedFileError(f"{place.name}: {error}", "Correct the file there.") from None
    part, north = document.pop("part", None), document.pop("north", None)
    ignore = document.pop("ignore", [])
    if part is not None and (isinstance(part, bool) or not isinstance(part, int) or part < 1):
        raise _wrong(place.name, f"part = {part!r}", "Write a whole number from 1.")
    if north is not None and north not in _NORTHS:
        raise _wrong(place.name, f"north = {north!r}", "Write 'true' or 'magnetic'.")
    if not isinstance(ignore, list) or not all(_is_column(entry) for entry in ignore):
        raise _wrong(place.name, f"ignore = {ignore!r}", "List headings or numbers of columns.")
    columns = tuple(_entry(place.name, name, value) for name, value in document.items())
    return LogMapping(
        source_name=place.name, columns=columns, ignore=tuple(ignore), part=part, north=north
    )


def _wrong(name: str, what: str, hint: str) -> MalformedFileError:
    return MalformedFileError(f"{name}: {what} is not allowed.", hint)


def _is_column(value: Any) -> bool:
    if isinstance(value, bool):
        return False
    return isinstance(value, str) or (isinstance(value, int) and value >= 1)


def _entry(name: str, quantity: str, value: Any) -> MappedColumn:
    """Check one line of a mapping file."""
    if quantity not in QUANTITIES:
        near = get_close_matches(quantity, QUANTITIES, n=3)
        raise MalformedFileError(
            f"{name}: unknown quantity {quantity!r}.",
            f"Did you mean {', '.join(near)}?" if near else f"Known: {', '.join(QUANTITIES)}.",
        )
    if not isinstance(value, dict) or not _is_column(value.get("column")):
        raise _wrong(
            name,
            f"{quantity} = {value!r}",
            'Write for instance { column = "IAS", unit = "kt" }; a number counts columns from 1.',
        )
    strange = [key for key in value if key not in _KEYS]
    if strange:
        raise _wrong(name, f"{quantity}: key {strange[0]!r}", f"Known: {', '.join(_KEYS)}.")
    unit, missing = value.get("unit"), value.get("missing", [])
    if not isinstance(missing, list) or not all(_is_code(code) for code in missing):
        raise _wrong(name, f"{quantity}: missing = {missing!r}", "List numbers or texts.")
    if unit is not None:
        unit = _known_unit(name, quantity, unit)
    codes = tuple(code if isinstance(code, str) else float(code) for code in missing)
    believe = value.get("believe", False)
    if not isinstance(believe, bool):
        raise _wrong(name, f"{quantity}: believe = {believe!r}", "Write true or false.")
    return MappedColumn(
        quantity=quantity, column=value["column"], unit=unit, missing=codes, believe=believe
    )


def _is_code(value: Any) -> bool:
    return isinstance(value, str | int | float) and not isinstance(value, bool)


def _known_unit(name: str, quantity: str, unit: Any) -> str:
    """Return the unit in its one spelling."""
    if quantity in _CLOCK_UNITS:
        if unit in _CLOCK_UNITS[quantity]:
            return str(unit)
        raise _wrong(
            name, f"{quantity}: unit {unit!r}", f"Known: {', '.join(_CLOCK_UNITS[quantity])}."
        )
    if KINDS[quantity] == "text":
        return ""
    known = unit_named(unit, KINDS[quantity]) if isinstance(unit, str) else None
    if known is None:
        raise _wrong(
            name,
            f"{quantity}: unit {unit!r}",
            f"That is not a unit of {KINDS[quantity]}; write for instance 'kt', 'ft', 'hPa', "
            "'degC'.",
        )
    return known


def units_for(quantity: str) -> tuple[str, ...]:
    """Return the units that a mapping may give a quantity; none for a text."""
    return _CLOCK_UNITS.get(quantity) or units_of_kind(KINDS[quantity])


def map_columns(
    table: RawTable, choices: tuple[ColumnChoice, ...], mapping: LogMapping | None
) -> tuple[ColumnChoice, ...]:
    """Let a mapping override and complete what the headings say.

    Args:
        choices: By the headings.

    Returns:
        In the order of the columns.

    Raises:
        MissingColumnError: If a column that the mapping names is not there.
        MalformedFileError: If the unit of a mapped column is nowhere stated.
    """
    if mapping is None:
        return choices
    mapped = [_mapped_choice(table, entry, mapping.source_name) for entry in mapping.columns]
    taken = {choice.index for choice in mapped}
    taken |= {_place(table, column, mapping.source_name) for column in mapping.ignore}
    stated = {choice.quantity for choice in mapped}
    if stated & {"date_time", "epoch_time", "elapsed_time", "elapsed_clock"}:
        stated |= set(_CLOCK_UNITS)
    if stated & {"time_of_day", "seconds_of_day"}:
        stated |= set(_CLOCK_UNITS) - {"date"}
    left = [c for c in choices if c.quantity not in stated and c.index not in taken]
    return tuple(sorted((*left, *mapped), key=lambda choice: choice.index))


def _place(table: RawTable, column: str | int, source: str) -> int:
    """Return the place of a column named by heading or number."""
    if isinstance(column, int):
        if column > len(table.headings):
            raise MissingColumnError(
                f"{source} names column {column}; {table.source_name} has {len(table.headings)}.",
                "Columns are counted from 1.",
            )
        return column - 1
    plain = [" ".join(heading.lower().split()) for heading in table.headings]
    plain_heading = " ".join(column.lower().split())
    if plain_heading not in plain:
        near = get_close_matches(plain_heading, plain, n=3)
        raise MissingColumnError(
            f"{source} names the column {column!r}, which {table.source_name} does not have.",
            f"Similar headings: {', '.join(near)}." if near else "Write the heading as it stands.",
        )
    return plain.index(plain_heading)


def _mapped_choice(table: RawTable, entry: MappedColumn, source: str) -> ColumnChoice:
    """Turn one line of a mapping into a choice, its unit from the line, heading or cells."""
    place = _place(table, entry.column, source)
    heading = take_apart(table.headings[place], table.units[place])
    cells = [row[place] for row in table.sample if place < len(row)]
    codes = {code for code in entry.missing if isinstance(code, str)}
    filled = [c for c in cells if c.lower() not in MISSING_WORDS and c not in codes]
    unit = entry.unit
    stated = unit is not None
    if unit is None:
        unit, stated = _unit_of(table, entry.quantity, heading, filled)
    if unit is None:
        raise MalformedFileError(
            f"{source}: {entry.quantity} from {table.headings[place]!r} needs a unit.",
            f'Add for instance unit = "{"s" if entry.quantity in _CLOCK_UNITS else "kt"}".',
        )
    sample = filled[0] if filled else ""
    return ColumnChoice(
        quantity=entry.quantity,
        heading=table.headings[place],
        index=place,
        unit=unit,
        confidence=1.0,
        sample=sample,
        unit_stated=stated,
        missing=entry.missing,
        mapped=True,
        believed=entry.believe,
    )


def _unit_of(
    table: RawTable, quantity: str, heading: Heading, filled: Sequence[str]
) -> tuple[str | None, bool]:
    """Find the unit that a mapping leaves open; with it, whether the file states it."""
    if quantity in _CLOCK_UNITS:
        form = time_form(heading, filled, table.decimal) if filled else None
        if form is not None and form.unit in _CLOCK_UNITS[quantity]:
            return form.unit, True
        return ("s" if "s" in _CLOCK_UNITS[quantity] else None), False
    kind = KINDS[quantity]
    if kind in {"text", "time"}:
        return "", True
    for text in heading.unit_texts:
        unit = unit_named(text, kind)
        if unit is not None:
            return unit, True
    numbers = [float(c.replace(",", ".")) for c in filled if _is_number(c)]
    if not numbers:
        return None, False
    return usual_unit(QuantityMatch(quantity, kind, 1.0), np.array(numbers)), False


def _is_number(cell: str) -> bool:
    try:
        return bool(np.isfinite(float(cell.replace(",", "."))))
    except ValueError:
        return False


def mapping_toml(table: RawTable, choices: Iterable[ColumnChoice], north: str | None) -> str:
    """Return the text of a mapping file that says what was understood.

    Args:
        north: true or magnetic, if known.
    """
    lines = [
        "# Which column of a log holds which quantity; columns by heading, or by number from 1."
    ]
    if north in _NORTHS:
        lines.append(f'north = "{north}"')
    for choice in choices:
        if choice.quantity not in QUANTITIES or choice.unit == "?":
            continue
        unique = table.headings.count(choice.heading) == 1 and choice.heading
        column = json.dumps(choice.heading, ensure_ascii=False) if unique else choice.index + 1
        parts = [f"column = {column}"]
        if choice.unit:
            parts.append(f'unit = "{choice.unit}"')
        if choice.missing:
            parts.append(f"missing = {json.dumps(list(choice.missing), ensure_ascii=False)}")
        if choice.believed:
            parts.append("believe = true")
        lines.append(f"{choice.quantity} = {{ {', '.join(parts)} }}")
    return "\n".join(lines) + "\n"
