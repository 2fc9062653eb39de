"""A result as CSV or as one JSON object, for programs."""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from typing import Final, get_args, get_origin, get_type_hints

from fleetcal.plain_text import harmless_cell
from fleetcal.services.field_names import printed_name, printed_value

#: Rises when a field of the JSON output changes its meaning or goes.
FORMAT_VERSION = 1
NO_WORDS: Final[Mapping[str, str]] = {}


def as_object(kind: str, result: object, caution: Sequence[str] | None) -> str:
    """Return a result as one JSON object, without NaN.

    Args:
        kind: Its name.
        result: Dataclass.
        caution: Sentences, None for a result without.
    """
    content = {"kind": kind, "format_version": FORMAT_VERSION, **_listed(result, NO_WORDS)}
    if caution is not None:
        content["caution"] = [*caution]
    return json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False)


def words_of(result: object) -> Mapping[str, str]:
    """Return the words that complete the names of fields; none for a result without quantity."""
    words: Mapping[str, str] = getattr(getattr(result, "quantity", None), "words", NO_WORDS)
    return words


def as_csv(
    rows: Sequence[object],
    row_type: type | None = None,
    words: Mapping[str, str] = NO_WORDS,
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
    columns = columns_of_rows(rows, row_type, words)
    if columns:
        writer.writerow(columns)
        writer.writerows(
            [_cell(value) for value in values] for values in zip(*columns.values(), strict=True)
        )
    return text.getvalue()


def columns_of_rows(
    rows: Sequence[object],
    row_type: type | None = None,
    words: Mapping[str, str] = NO_WORDS,
) -> dict[str, list[object]]:
    """Return every field of rows that is not itself a list, by its printed name.

    Args:
        rows: Sequence of dataclass.
        row_type: Tells the names when there are no rows.
        words: Of the quantity, see `words_of`.
    """
    known = type(rows[0]) if rows else row_type
    names = _plain_fields(known, words) if known is not None else {}
    return {printed: [getattr(row, name) for row in rows] for name, printed in names.items()}


def _cell(value: object) -> object:
    """Return a value as a cell of a table, that no spreadsheet runs as a formula."""
    plain = _plain(value)
    return harmless_cell(plain) if isinstance(plain, str) else "" if plain is None else plain


def row_type(result: object, rows: str) -> type | None:
    """Return the type of the rows as the result declares it."""
    declared = getattr(type(result), rows, None)
    if isinstance(declared, property):
        hint = get_type_hints(declared.fget)["return"]
    else:
        hint = get_type_hints(type(result))[rows]
    return next((p for p in get_args(hint) if isinstance(p, type) and is_dataclass(p)), None)


def printed_names(kind: type, words: Mapping[str, str]) -> dict[str, str]:
    """Return the fields of a result, as its class lists them, and the names they are printed by."""
    listed: Sequence[str] | None = getattr(kind, "LISTED", None)
    if listed:
        return {name: name for name in listed}
    names = {one.name: printed_name(one, words) for one in fields(kind)}
    return {name: printed for name, printed in names.items() if printed is not None}


def _plain_fields(kind: type, words: Mapping[str, str]) -> dict[str, str]:
    """Return the fields of a row that hold one value, with their printed names."""
    hints = get_type_hints(kind)
    return {
        name: printed
        for name, printed in printed_names(kind, words).items()
        if get_origin(hints.get(name)) not in (tuple, list)
    }


def _listed(record: object, words: Mapping[str, str]) -> dict[str, object]:
    """Return a record with its fields under the names they are printed by."""
    own = words_of(record) or words
    return {
        printed: _plain(printed_value(record, name, own), own)
        for name, printed in printed_names(type(record), own).items()
    }


def _plain(value: object, words: Mapping[str, str] = NO_WORDS) -> object:
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
