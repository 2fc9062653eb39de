"""Cells of a table as the program writes them: numbers in its units, dates as YYYY-MM-DD."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from fleetcal.errors import MalformedFileError
from fleetcal.services.table_columns import DATE, TEXT
from fleetcal.services.table_dates import DoubtfulDateError, order_of_dates, plain_date
from fleetcal.services.table_headings import MatchedHeading
from fleetcal.services.table_numbers import (
    DecimalSigns,
    decimal_signs,
    in_unit,
)

_ALIKE: Final = "write all of them alike, or YYYY-MM-DD"


@dataclass(frozen=True)
class CellForms:
    """How the cells of each column become plain.

    Attributes:
        readers: For each column, None where cells stay as they are.
        signs: Of the numbers.
        orders: Of day and month, by column, where it had to be found out.
    """

    readers: tuple[Callable[[str], str] | None, ...]
    signs: DecimalSigns
    orders: dict[str, str]

    @property
    def words(self) -> str:
        """What is unusual about the cells, for people; empty if nothing is."""
        words = ["decimal commas"] if self.signs.comma else []
        words += [f"dates {order}" for order in sorted(set(self.orders.values()))]
        return ", ".join(words)

    def plain(self, place: int, cells: Sequence[str]) -> list[str]:
        """Return the cells of one column as the program writes them.

        Raises:
            DoubtfulNumberError: If one can be read in two ways.
        """
        reader = self.readers[place]
        if reader is None:
            return list(cells)
        found = {text: reader(text) for text in set(cells)}
        return [found[text] for text in cells]


def find_cell_forms(
    matched: Sequence[MatchedHeading],
    columns: Sequence[Sequence[str]],
    where: str,
    lines: Sequence[int],
) -> CellForms:
    """Look at cells of a table to find out how they are written.

    Args:
        columns: Stripped cells of each matched column.
        where: The file, for messages.
        lines: Of the file, one for each cell of a column.

    Raises:
        MalformedFileError: If a date can mean two days.
    """
    numbers = [text for m, cells in _of(matched, columns) for text in set(cells)
               if m.column.kind not in (TEXT, DATE)]  # fmt: skip
    signs = decimal_signs(numbers)
    orders: dict[str, str] = {}
    readers: list[Callable[[str], str] | None] = []
    for heading, cells in _of(matched, columns):
        if heading.column.kind == TEXT:
            readers.append(None)
        elif heading.column.kind == DATE:
            order = heading.unit or _order(heading, cells, where, lines)
            if order and not heading.unit:
                orders[heading.column.name] = order
            strange = any(cell and not _is_plain_date(cell) for cell in set(cells))
            readers.append(_date_reader(order) if strange else None)
        else:
            joined = "".join(set(cells))
            strange = bool(joined.translate(_USUAL)) or (signs.comma and "." in joined)
            converted = heading.unit != heading.column.unit
            readers.append(_number_reader(heading, signs) if strange or converted else None)
    return CellForms(tuple(readers), signs, orders)


# what plain numbers are made of
_USUAL: Final = str.maketrans("", "", "0123456789.+-eE")


def _of(
    matched: Sequence[MatchedHeading], columns: Sequence[Sequence[str]]
) -> list[tuple[MatchedHeading, Sequence[str]]]:
    return list(zip(matched, columns, strict=True))


def _order(heading: MatchedHeading, cells: Sequence[str], where: str, lines: Sequence[int]) -> str:
    try:
        return order_of_dates(dict.fromkeys(cells))
    except DoubtfulDateError as doubt:
        if not doubt.days:
            what = (
                f"{where}, column {heading.written}: {doubt.text} have day and month in different "
                "orders"
            )
            raise MalformedFileError(what, _ALIKE) from doubt
        place = f"{where}, line {lines[cells.index(doubt.text)]}, column {heading.written}"
        days = " or ".join(f"{day.day} {day:%B %Y}" for day in doubt.days)
        raise MalformedFileError(
            f"{place}: {doubt.text!r} may be {days}",
            "write YYYY-MM-DD, or head the column 'date (dd/mm/yyyy)' or 'date (mm/dd/yyyy)'",
        ) from doubt


def _is_plain_date(cell: str) -> bool:
    try:
        return date.fromisoformat(cell).isoformat() == cell
    except ValueError:
        return False


def _date_reader(order: str) -> Callable[[str], str]:
    return lambda text: plain_date(text, order)


def _number_reader(heading: MatchedHeading, signs: DecimalSigns) -> Callable[[str], str]:
    given, column = heading.unit, heading.column

    def read(text: str) -> str:
        plain = signs.plain(text)
        if not plain or given == column.unit or not column.unit:
            return plain
        return in_unit(plain, given, column.unit, column.is_difference)

    return read
