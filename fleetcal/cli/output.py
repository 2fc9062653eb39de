"""Prints every result: a table for people, CSV, or one JSON object."""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import KW_ONLY, dataclass, field, fields, is_dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final, Generic, TypeVar, get_args, get_origin, get_type_hints

import click

from fleetcal.cli.shared_options import chosen
from fleetcal.cli.shown_units import ShownColumn, in_shown_units, shown_column
from fleetcal.plain_text import harmless_cell, printable
from fleetcal.wording import decimal, with_sign

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

    from fleetcal.services.curves.quantity import Quantity

Result = TypeVar("Result", bound="DataclassInstance")

DETAILS_HINT = "The model and degrees of freedom: --details."
#: Rises when a field of the JSON output changes its meaning or goes.
FORMAT_VERSION = 1
#: In place of the decimals of a column: those of the quantity, whose unit it has.
IN_UNIT: Final = -1
_UNITS = ("kt", "mph", "kmh", "ft", "m", "deg", "degc", "kg", "lb", "s")
_NO_WORDS: Final[Mapping[str, str]] = {}


@dataclass(frozen=True)
class Column:
    """One column of a printed table.

    Attributes:
        name: Field of the row.
        decimals: For numbers, or `IN_UNIT`; None prints the value as it is.
        sign: Whether a plus is printed.
        chance: Whether a value too small for the decimals is printed as below them.
    """

    name: str
    decimals: int | None = None
    _: KW_ONLY
    sign: bool = False
    chance: bool = False


@dataclass(frozen=True, kw_only=True)
class View(Generic[Result]):
    """How one kind of result is printed.

    Attributes:
        kind: Name of the result in JSON.
        rows: Field of the result that holds the rows of the table and the CSV.
        columns: Of the table for people; CSV has every plain field of a row.
        head, foot: Lines before and after the table, from the result.
        details: Further lines after it for whoever asks for them.
        details_hint: Says in their place what they would be.
        cautioned: Whether assumptions and caution are printed.
        tells_of: ``reading``, ``curve``, ``rate`` or ``cruise``: whose assumptions they are, of a
            result without a quantity.
        body: Lines of the tables in place of the one of `columns`, from the result.
        tells: Whether the result has anything to be cautious about.
    """

    kind: str
    rows: str
    columns: Sequence[Column]
    head: Callable[[Result], Iterable[str]] = field(default=lambda result: ())
    foot: Callable[[Result], Iterable[str]] = field(default=lambda result: ())
    details: Callable[[Result], Iterable[str]] | None = None
    details_hint: str = DETAILS_HINT
    cautioned: bool = False
    tells_of: str = "reading"
    body: Callable[[Result], Iterable[str]] | None = None
    tells: Callable[[Result], bool] = field(default=lambda result: True)


def emit(result: Result, view: View[Result]) -> None:
    """Print a result to standard output in the format that was asked for."""
    output_format = chosen("format")
    if output_format == "json":
        click.echo(as_json(result, view))
    elif output_format == "csv":
        rows = getattr(result, view.rows)
        click.echo(as_csv(rows, _row_type(result, view.rows), words_of(result)), nl=False)
    else:
        click.echo(as_text(result, view))


def write_out(file: Path, text: str, what: str) -> None:
    """Write a text to a file and tell on standard error; to standard output for ``-``."""
    from fleetcal.atomic_write import write_atomically

    if str(file) == "-":
        click.echo(text, nl=False)
    else:
        write_atomically(file, text)
        click.echo(f"{what} written to {file}", err=True)


def as_json(result: Result, view: View[Result]) -> str:
    """Return a result as one JSON object, without NaN.

    Args:
        result: Dataclass.
    """
    content = {"kind": view.kind, "format_version": FORMAT_VERSION, **_listed(result, _NO_WORDS)}
    if view.cautioned:
        content["caution"] = _cautions(result, view)
    return json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False)


def words_of(result: object) -> Mapping[str, str]:
    """Return the words that complete the names of fields; none for a result without quantity."""
    words: Mapping[str, str] = getattr(getattr(result, "quantity", None), "words", _NO_WORDS)
    return words


def as_csv(
    rows: Sequence[object],
    row_type: type | None = None,
    words: Mapping[str, str] = _NO_WORDS,
) -> str:
    """Return rows as CSV: every field of a row that is not itself a list.

    Args:
        rows: Sequence of dataclass.
        row_type: Tells the headings when there are no rows.
        words: Of the quantity, see `words_of`.

    Returns:
        Cells that a spreadsheet would run as a formula are made harmless.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    known = type(rows[0]) if rows else row_type
    names = _plain_fields(known, words) if known is not None else {}
    if names:
        writer.writerow(names.values())
    for row in rows:
        cells = (_plain(getattr(row, name)) for name in names)
        writer.writerow(
            [harmless_cell(c) if isinstance(c, str) else "" if c is None else c for c in cells]
        )
    return text.getvalue()


def _plain_fields(row_type: type, words: Mapping[str, str]) -> dict[str, str]:
    """Return the fields of a row that hold one value, with their printed names."""
    hints = get_type_hints(row_type)
    return {
        name: printed
        for name, printed in _names(row_type, words).items()
        if get_origin(hints.get(name)) not in (tuple, list)
    }


def _names(kind: type, words: Mapping[str, str]) -> dict[str, str]:
    """Return the fields of a result, as its class lists them, and the names they are printed by."""
    from fleetcal.services.field_names import printed_name

    listed: Sequence[str] | None = getattr(kind, "LISTED", None)
    if listed:
        return {name: name for name in listed}
    names = {one.name: printed_name(one, words) for one in fields(kind)}
    return {name: printed for name, printed in names.items() if printed is not None}


def _row_type(result: object, rows: str) -> type | None:
    """Return the type of the rows as the result declares it."""
    declared = getattr(type(result), rows, None)
    if isinstance(declared, property):
        hint = get_type_hints(declared.fget)["return"]
    else:
        hint = get_type_hints(type(result))[rows]
    return next((p for p in get_args(hint) if isinstance(p, type) and is_dataclass(p)), None)


def as_text(result: Result, view: View[Result]) -> str:
    """Return a result as lines of text.

    Args:
        result: Dataclass.
    """
    rows = getattr(result, view.rows)
    lines = [*view.head(result)]
    if view.body is not None:
        lines += view.body(result)
    elif rows:
        table = text_table(rows, view.columns, getattr(result, "quantity", None))
        lines += [*([""] if lines else []), *table]
    foot = [*view.foot(result)]
    if view.details is not None and view.tells(result):
        foot += view.details(result) if chosen("details") else [view.details_hint]
    if foot:
        lines += ["", *foot]
    if view.cautioned and view.tells(result):
        lines += ["", *_cautions(result, view)]
    return in_shown_units("\n".join(printable(line) for line in lines))


def text_table(
    rows: Sequence[object],
    columns: Sequence[Column],
    quantity: Quantity | None = None,
    *,
    units_below: bool = False,
) -> list[str]:
    """Return rows as aligned columns under their names.

    Args:
        rows: Sequence of dataclass.
        quantity: That the rows tell of, for names and decimals.
        units_below: Whether the unit that a name ends in gets a line of its own, which makes a wide
            table narrower.
    """
    printed = _names(type(rows[0]), quantity.words) if rows and quantity else {}
    columns = [
        replace(c, decimals=quantity.decimals) if c.decimals == IN_UNIT and quantity else c
        for c in columns
    ]
    shown = [shown_column(printed.get(c.name, c.name), c.sign) for c in columns]
    names = [one.heading for one in shown]
    headings = [_heading(name) if units_below else (name,) for name in names]
    cells = [
        [
            printable(_cell(*_converted(getattr(row, c.name), c, unit)))
            for c, unit in zip(columns, shown, strict=True)
        ]
        for row in rows
    ]
    number = [all(not isinstance(getattr(row, c.name), str) for row in rows) for c in columns]
    widths = [
        max(*(len(text) for text in headings[i]), *(len(line[i]) for line in cells))
        if cells or len(headings[i]) > 1
        else len(headings[i][0])
        for i in range(len(columns))
    ]

    def line(texts: Sequence[str]) -> str:
        aligned = (
            text.rjust(width) if right else text.ljust(width)
            for text, width, right in zip(texts, widths, number, strict=True)
        )
        return "  ".join(aligned).rstrip()

    above = [line(texts) for texts in zip(*headings, strict=True)]
    return [*above, *(line(texts) for texts in cells)]


def _heading(name: str) -> tuple[str, str]:
    quantity, _, unit = name.rpartition("_")
    return (quantity, unit) if unit in _UNITS else (name, "")


def _converted(value: object, column: Column, shown: ShownColumn) -> tuple[object, Column]:
    """Return a value and its column in the unit that people are shown."""
    if shown.factor == 1.0 or column.decimals is None or not isinstance(value, int | float):
        return value, column
    decimals = max(column.decimals, 0 if shown.rounded else 1)
    return value * shown.factor, replace(column, decimals=decimals)


def _cell(value: object, column: Column) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if column.decimals is None or not isinstance(value, int | float):
        return str(value)
    smallest = 10.0**-column.decimals
    if column.chance and value < smallest:
        return f"<{smallest:.{column.decimals}f}"
    shown = with_sign if column.sign else decimal
    return shown(value, column.decimals)


def _listed(record: object, words: Mapping[str, str]) -> dict[str, object]:
    """Return a record with its fields under the names they are printed by."""
    from fleetcal.services.field_names import printed_value

    own = words_of(record) or words
    return {
        printed: _plain(printed_value(record, name, own), own)
        for name, printed in _names(type(record), own).items()
    }


def _plain(value: object, words: Mapping[str, str] = _NO_WORDS) -> object:
    if is_dataclass(value):
        return _listed(value, words)
    if isinstance(value, dict):
        return {str(key): _plain(inner, words) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner, words) for inner in value]
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, float):
        return value + 0.0 if math.isfinite(value) else None  # never minus zero
    return value


def _cautions(result: Result, view: View[Result]) -> list[str]:
    from fleetcal.services.cautions import ASSUMPTIONS, SHORT_CAUTION

    quantity = getattr(result, "quantity", None)
    own = ASSUMPTIONS[view.tells_of] if quantity is None else quantity.assumptions
    return [*own, SHORT_CAUTION]
