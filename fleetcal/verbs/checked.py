"""Values that a caller gives, held within the limits of the command's options."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import date
from typing import TypeAlias

from fleetcal.errors import DataError

#: A day, as a date or written YYYY-MM-DD.
Day: TypeAlias = date | str
#: First and last day, None where an end is open; or written FROM..TO.
Days: TypeAlias = tuple[date | None, date | None] | str


def within(name: str, value: float | None, low: float, high: float) -> float | None:
    """Return a number, or None; refuse one outside its limits, or what is none.

    Raises:
        DataError: If so.
    """
    return None if value is None else number_within(name, value, low, high)


def number_within(name: str, value: float, low: float, high: float) -> float:
    """Return a number; refuse one outside its limits, or what is none.

    Raises:
        DataError: If so.
    """
    if not isinstance(value, int | float) or math.isnan(value) or not low <= value <= high:
        raise DataError(
            f"{name}={value!r} is not a number from {low:g} to {high:g}",
            "the unit is in the name of the argument",
        )
    return float(value)


def count_within(name: str, value: int | None, low: int, high: int) -> int | None:
    """Return an integer number, or None; refuse one outside its limits, or what is none.

    Raises:
        DataError: If so.
    """
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        raise DataError(
            f"{name}={value!r} is not an integer from {low} to {high}", "write it without a point"
        )
    return value


def one_of(name: str, value: str | None, known: Sequence[str]) -> None:
    """Refuse a word that is none of those known; None is let through.

    Raises:
        DataError: If so.
    """
    if value is not None and value not in known:
        raise DataError(f"{name}={value!r} is not known", f"known: {', '.join(known)}")


def not_both(first: str, second: str, given: Iterable[object]) -> None:
    """Refuse two arguments of which one excludes the other.

    Args:
        given: Value of each; one that is None, empty or False is not given.

    Raises:
        DataError: If both are given.
    """
    if all(value is not None and value is not False and value != () for value in given):
        raise DataError(f"{first} and {second} contradict each other", "leave one of the two out")


def day_of(name: str, value: Day | None) -> date | None:
    """Return a day that was given as a date or in words.

    Raises:
        DataError: If it is none.
    """
    if value is None or isinstance(value, date):
        return value
    try:
        return date.fromisoformat(value)
    except (TypeError, ValueError) as error:
        raise DataError(f"{name}={value!r} is not a date", "write YYYY-MM-DD") from error


def days_of(name: str, value: Days) -> tuple[date | None, date | None]:
    """Return a period that was given as two dates or in words.

    Raises:
        DataError: If it is none.
    """
    if isinstance(value, str):
        first, dots, last = value.partition("..")
        if not dots:
            raise DataError(
                f"{name}={value!r} is not a period", "write 2024-01-01..2024-06-30, or two dates"
            )
        return day_of(name, first or None), day_of(name, last or None)
    first_day, last_day = value
    return day_of(name, first_day), day_of(name, last_day)
