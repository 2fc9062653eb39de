"""The cells of one row of a points file; every complaint names file, line and column."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Final

import numpy as np

from fleetcal.errors import MalformedFileError
from fleetcal.plain_text import unguarded_cell
from fleetcal.records import Point, Power, RecordColumn, columns_of

#: Limits that a number has in any file, by its heading.
COLUMNS: Final = {**columns_of(Power), **columns_of(Point)}


@dataclass(frozen=True)
class FileRow:
    """One row of a CSV file that somebody wrote.

    Attributes:
        line: In the file, counted from 1.
        cells: By column.
        written: Column -> its heading in the file, where it is another.
    """

    file: str
    line: int
    cells: Mapping[str, str]
    written: Mapping[str, str] = field(default_factory=dict)

    def wrong(self, what: str, hint: str, column: str = "") -> MalformedFileError:
        """Return the error for something wrong in this row."""
        named = f"{column} ({self.written[column]})" if column in self.written else column
        place = f"{self.file}, line {self.line}" + (f", column {named}" if column else "")
        return MalformedFileError(f"{place}: {what}", hint)

    def text(self, column: str, default: str = "") -> str:
        """Return a cell, or the default where it is empty or not there."""
        return unguarded_cell(self.cells.get(column, "")) or default

    def number(self, column: str) -> float | None:
        """Return a number, None where the cell is empty or not there.

        Raises:
            MalformedFileError: If it is no number, or one that the column cannot hold.
        """
        text = self.text(column)
        if not text:
            return None
        try:
            value = float(text) if "_" not in text else np.nan
        except ValueError:
            value = np.nan
        if not np.isfinite(value):
            raise self.wrong(f"{text!r} is not a number", "correct the cell", column)
        known = COLUMNS.get(column, RecordColumn())
        if known.above == 0.0 and value <= 0.0:
            raise self.wrong(f"{text} is not above zero", "correct the cell", column)
        low, high = known.limits
        if not low <= value <= high:
            limits = f"at least {low:g}" if np.isinf(high) else f"between {low:g} and {high:g}"
            raise self.wrong(f"{text} is not {limits}", "check the unit and the column", column)
        return value

    def required(self, column: str) -> float:
        """Return a number that must be there.

        Raises:
            MalformedFileError: If it is not, or is wrong.
        """
        value = self.number(column)
        if value is None:
            raise self.wrong("the cell is empty", "fill it in", column)
        return value

    def integer(self, column: str) -> int | None:
        """Return a whole number, None where the cell is empty or not there.

        Raises:
            MalformedFileError: If it is not whole, or is wrong.
        """
        value = self.number(column)
        if value is not None and value != int(value):
            raise self.wrong(f"{value:g} is not a whole number", "correct the cell", column)
        return None if value is None else int(value)

    def day(self, column: str) -> date:
        """Return a date.

        Raises:
            MalformedFileError: If it is none.
        """
        text = self.text(column)
        try:
            return date.fromisoformat(text)
        except ValueError as error:
            raise self.wrong(f"{text!r} is not a date", "write YYYY-MM-DD", column) from error

    def choice(self, column: str, allowed: Sequence[str], default: str) -> str:
        """Return one of some words; capitals do not matter.

        Raises:
            MalformedFileError: If it is another.
        """
        text = self.text(column, default)
        text = next((word for word in allowed if word == text.casefold()), text)
        if text not in allowed:
            hint = f"write one of {', '.join(allowed)}"
            raise self.wrong(f"{text!r} is not known here", hint, column)
        return text
