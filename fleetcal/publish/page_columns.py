"""Columns of the tables on pages: which field of a row, how it is headed, shown and sorted."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any, Final

from fleetcal.plain_text import MINUS, signed
from fleetcal.wording import decimal

_DAY: Final = re.compile(r"\d{4}-\d{2}(-\d{2})?")


@dataclass(frozen=True, kw_only=True)
class PageColumn:
    """One column.

    Attributes:
        field: Name of the field of a row, or its place in a row that is a tuple.
        plain: Left-aligned text, not a number.
        spare: Gives way on narrow screens.
        link: Field that holds the page that a cell leads to.
        only_if: Field without which the cell stays empty.
        high: Of a band, the field that holds its upper end; `field` holds the lower one.
        alarms: Words that stand out.
    """

    field: str | int
    name: str
    unit: str = ""
    plain: bool
    spare: bool = False
    places: int = 1
    sign: bool = False
    link: str = ""
    only_if: str = ""
    high: str | int | None = None
    alarms: Collection[str] = ()

    @property
    def mark(self) -> str:
        """Classes of heading and cells."""
        marks = {"plain": self.plain, "spare": self.spare, "band": self.high is not None}
        return " ".join(mark for mark, held in marks.items() if held)

    def shown(self, value: object) -> str:
        """Return a value as words."""
        if self.plain or not isinstance(value, int | float):
            return str(value)
        if self.sign:
            return signed(value, self.places)
        return decimal(value, self.places).replace("-", MINUS)

    def is_day(self, value: object) -> bool:
        """Whether a value is a day or a month, which is never broken over two lines."""
        return self.plain and _DAY.fullmatch(str(value)) is not None


def text(field: str | int, name: str, unit: str = "", **how: Any) -> PageColumn:
    """Return a column of words."""
    return PageColumn(field=field, name=name, unit=unit, plain=True, **how)


def number(field: str | int, name: str, unit: str = "", **how: Any) -> PageColumn:
    """Return a column of numbers."""
    return PageColumn(field=field, name=name, unit=unit, plain=False, **how)


def band(low: str | int, high: str | int, name: str, unit: str = "", **how: Any) -> PageColumn:
    """Return a column of bands, each shown as its two ends."""
    return PageColumn(field=low, high=high, name=name, unit=unit, plain=False, **how)
