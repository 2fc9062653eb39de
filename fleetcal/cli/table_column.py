"""One column of a printed table: its heading, its unit, and its values as cells.

A value meets its unit here and nowhere else in the printer, so here it is turned
into the unit that people are shown.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import KW_ONLY, dataclass
from datetime import datetime
from typing import Final

from fleetcal.cli.shown_names import in_shorter_cell
from fleetcal.cli.shown_units import ShownColumn, shown_column
from fleetcal.plain_text import printable
from fleetcal.wording import decimal, with_sign

#: In place of the decimals of a column: those of the quantity, whose unit it has.
IN_UNIT: Final = -1
#: How important a column is: never left out; left out last; left out first; only with --details.
ALWAYS: Final = 3
ORDINARY: Final = 2
SPARE: Final = 1
DETAIL: Final = 0
#: Ends of names of fields, and how the unit is written above a column.
_UNITS: Final[Mapping[str, str]] = {
    "kt": "kt",
    "ft": "ft",
    "kg": "kg",
    "s": "s",
    "mph": "mph",
    "kmh": "km/h",
    "lb": "lb",
    "m": "m",
    "ftmin": "ft/min",
    "degc": "°C",
    "deg": "°",
    "percent": "%",
    "pct": "%",
}
#: Words of names that are written in another way.
_WRITTEN: Final[Mapping[str, str]] = {
    "ias": "IAS",
    "cas": "CAS",
    "tas": "TAS",
    "oat": "OAT",
    "utc": "UTC",
    "viw": "VIW",
    "id": "ID",
    "sha256": "SHA-256",
    "vic": "Vic",
    "dvpc": "dVpc",
    "dhpc": "dHpc",
    "number": "no.",
}


@dataclass(frozen=True)
class Column:
    """One column of a printed table.

    Attributes:
        name: Field of the row.
        decimals: For numbers, or `IN_UNIT`; None prints the value as it is.
        sign: Whether a plus is printed.
        chance: Whether a value too small for the decimals is printed as below them.
        heading: Everyday words above it; made of the name if empty. Its unit is in the name.
        to: Field with the upper end of a range that begins with `name`.
        importance: `ALWAYS`, `ORDINARY`, `SPARE` or `DETAIL`; the least important columns are left
            out of a table that is too wide.
        wraps: Whether its text may go over several lines.
        section: Whether its value stands once, on a line above the rows that share it.
        once: Whether it is left out where all rows have the same value, which is then given above.
    """

    name: str
    decimals: int | None = None
    _: KW_ONLY
    sign: bool = False
    chance: bool = False
    heading: str = ""
    to: str = ""
    importance: int = ORDINARY
    wraps: bool = False
    section: bool = False
    once: bool = False


@dataclass(frozen=True, kw_only=True)
class Cells:
    """A column that is ready to be laid out.

    Attributes:
        column: What it shows.
        heading: Words above it.
        unit: Below the words; empty without.
        texts: One for each row.
        right: Whether they are numbers, which stand to the right.
    """

    column: Column
    heading: str
    unit: str
    texts: Sequence[str]
    right: bool

    @property
    def title(self) -> str:
        """Return heading and unit on one line."""
        return f"{self.heading}, {self.unit}" if self.unit else self.heading


def column_cells(rows: Sequence[object], column: Column, printed_name: str, decimals: int) -> Cells:
    """Return a column of rows as text.

    Args:
        printed_name: Of its field, which ends in the unit.
        decimals: In place of `IN_UNIT`.
    """
    places = decimals if column.decimals == IN_UNIT else column.decimals
    shown = shown_column(printed_name, column.sign)
    words, unit = _heading(shown.heading)
    places = _places(places, shown)
    values = [_converted(getattr(row, column.name), shown, places) for row in rows]
    if column.to:
        ends = [_converted(getattr(row, column.to), shown, places) for row in rows]
        texts = [_range(low, high, column, places) for low, high in zip(values, ends, strict=True)]
    else:
        texts = [_cell(value, column, places) for value in values]
    return Cells(
        column=column,
        heading=column.heading or words,
        unit=unit,
        texts=[in_shorter_cell(printable(text)) for text in texts],
        right=not any(isinstance(value, str) for value in values),
    )


def _places(places: int | None, shown: ShownColumn) -> int | None:
    """Return the decimals of a column in the unit that people are shown."""
    if shown.factor == 1.0 or places is None:
        return places
    return max(places, 0 if shown.rounded else 1)


def _converted(value: object, shown: ShownColumn, places: int | None) -> object:
    """Return a value in the unit that people are shown."""
    if shown.factor == 1.0 or places is None or not isinstance(value, int | float):
        return value
    return value * shown.factor


def _heading(printed_name: str) -> tuple[str, str]:
    """Return the words of a name, and its unit."""
    rest, _, last = printed_name.rpartition("_")
    unit = _UNITS.get(last, "") if rest else ""
    words = (rest if unit else printed_name).split("_")
    return " ".join(_WRITTEN.get(word, word) for word in words), unit


def _range(low: object, high: object, column: Column, places: int | None) -> str:
    ends = [_cell(end, column, places) for end in (low, high)]
    return "-" if ends == ["-", "-"] else " to ".join(ends)


def _cell(value: object, column: Column, places: int | None) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return "-"
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if places is None or not isinstance(value, int | float):
        return str(value)
    smallest = 10.0**-places
    if column.chance and value < smallest:
        return f"<{smallest:.{places}f}"
    return (with_sign if column.sign else decimal)(value, places)
