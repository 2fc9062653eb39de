"""Fields of a form as values; what cannot be is refused by the field's name."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from fleetcal.errors import DataError, FleetcalError
from fleetcal.plain_text import sentence

Fields = Mapping[str, str]


def text(fields: Fields, name: str) -> str:
    """Return what was written in a field, without blanks at its ends."""
    return " ".join(fields.get(name, "").split())


def number(fields: Fields, name: str, words: str, low: float, high: float) -> float | None:
    """Return a number, None if the field is blank; a decimal comma will do.

    Args:
        words: How the field is called.

    Raises:
        DataError: If it is none, or not between the limits.
    """
    written = text(fields, name)
    if not written:
        return None
    try:
        value = float(written.replace(",", ".")) if "_" not in written else float("nan")
    except ValueError:
        value = float("nan")
    if not low <= value <= high:
        raise DataError(
            f"{words}: {written!r} cannot be", f"write a number from {low:g} to {high:g}"
        )
    return value


def day(fields: Fields, name: str, words: str) -> date | None:
    """Return a day, None if the field is blank.

    Raises:
        DataError: If it is none.
    """
    written = text(fields, name)
    if not written:
        return None
    try:
        return date.fromisoformat(written)
    except ValueError as error:
        raise DataError(f"{words}: {written!r} is no day", "write YYYY-MM-DD") from error


def one_of(fields: Fields, name: str, words: str, known: Mapping[str, object]) -> str:
    """Return one of the values of a list.

    Raises:
        DataError: If it is none of them.
    """
    written = text(fields, name)
    if written not in known:
        raise DataError(f"{words}: {written!r} is not in the list", "choose one of the list")
    return written


def refusal(error: FleetcalError | None) -> list[str]:
    """Return what could not be done and what to do about it, as sentences."""
    words = (error.message, error.hint) if error is not None else ()
    return [sentence(one) for one in words if one]
