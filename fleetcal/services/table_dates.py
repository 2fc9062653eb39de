"""Dates as people and spreadsheets write them, read only where they can mean one day."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from typing import Final

_TIME: Final = r"(?:[T ]\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?Z?)?"
_YEAR_FIRST: Final = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})" + _TIME)
_RUN_ON: Final = re.compile(r"(\d{4})(\d{2})(\d{2})")
_YEAR_LAST: Final = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4})" + _TIME)
_DAY_NAMED: Final = re.compile(r"(\d{1,2})\.?[- ]([A-Za-z]{3,9})\.?,?[- ](\d{4}|\d{2})")
_MONTH_NAMED: Final = re.compile(r"([A-Za-z]{3,9})\.? (\d{1,2}),? (\d{4})")
_MONTHS: Final = (
    *("january", "february", "march", "april", "may", "june", "july", "august"),
    *("september", "october", "november", "december"),
)
_CENTURY_TURNS: Final = 70
#: The order of day and month in a date with its year last.
DAY_FIRST, MONTH_FIRST = "day first", "month first"


class DoubtfulDateError(ValueError):
    """A date that can mean two days.

    Attributes:
        text: As written.
        days: What it may mean; empty if the column has both orders.
    """

    def __init__(self, text: str, days: tuple[date, ...]) -> None:
        super().__init__(text)
        self.text = text
        self.days = days


def order_of_dates(cells: Iterable[str]) -> str:
    """Tell whether the day or the month comes first in a column of dates.

    Returns:
        `DAY_FIRST`, `MONTH_FIRST`, or empty where no cell needs to be known for.

    Raises:
        DoubtfulDateError: If no cell shows it and one needs it, or cells show both.
    """
    shown: dict[str, str] = {}
    doubtful: tuple[str, dict[str, date]] | None = None
    for text in cells:
        meant = _meanings(text)
        if len(meant) == 1 and "" not in meant:
            shown.setdefault(next(iter(meant)), text)
        elif len(set(meant.values())) > 1 and doubtful is None:
            doubtful = (text, meant)
    if len(shown) > 1:
        raise DoubtfulDateError(" and ".join(shown.values()), ())
    if doubtful is not None and not shown:
        raise DoubtfulDateError(doubtful[0], tuple(doubtful[1].values()))
    return next(iter(shown), "")


def plain_date(text: str, order: str) -> str:
    """Return a date as YYYY-MM-DD, other text as it is.

    Args:
        order: As `order_of_dates` tells it.
    """
    meant = _meanings(text)
    if not meant:
        return text
    day = meant.get(order) or next(iter(meant.values()))
    return day.isoformat()


def _meanings(text: str) -> dict[str, date]:
    """Return what a date may mean, by the order; the order is empty where it does not matter."""
    named = _DAY_NAMED.fullmatch(text)
    if named:
        return _one(_full_year(named[3]), _month(named[2]), int(named[1]))
    named = _MONTH_NAMED.fullmatch(text)
    if named:
        return _one(int(named[3]), _month(named[1]), int(named[2]))
    first = _YEAR_FIRST.fullmatch(text)
    if first:
        return _one(int(first[1]), int(first[3]), int(first[4]))
    run_on = _RUN_ON.fullmatch(text)
    if run_on:
        return _one(int(run_on[1]), int(run_on[2]), int(run_on[3]))
    last = _YEAR_LAST.fullmatch(text)
    if not last:
        return {}
    a, b, year = int(last[1]), int(last[3]), int(last[4])
    if last[2] == ".":
        return _one(year, b, a)
    both = {DAY_FIRST: _day(year, b, a), MONTH_FIRST: _day(year, a, b)}
    found = {order: day for order, day in both.items() if day is not None}
    return {"": found[DAY_FIRST]} if len(found) == 2 and a == b else found


def _one(year: int, month: int, day: int) -> dict[str, date]:
    found = _day(year, month, day)
    return {} if found is None else {"": found}


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _month(word: str) -> int:
    fits = [i for i, name in enumerate(_MONTHS, 1) if name.startswith(word.lower())]
    return fits[0] if len(fits) == 1 else 0


def _full_year(text: str) -> int:
    year = int(text)
    if len(text) == 4:
        return year
    return year + (2000 if year < _CENTURY_TURNS else 1900)
