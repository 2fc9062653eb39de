"""Small checks of values from a file, put together to the shape of a document."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Mapping
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, Final, NoReturn

from fleetcal.errors import MalformedFileError
from fleetcal.records import BudgetTerm, Climb, Leg, Point, Power, RecordColumn, columns_of

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

Check = Callable[[Any, str], None]
#: Version in which files began to be signed.
SIGNED_SINCE: Final = 4
#: Of the share file; a new column raises it.
VERSION: Final = max(
    SIGNED_SINCE,
    *(
        column.since
        for kind in (BudgetTerm, Climb, Leg, Point, Power)
        for column in columns_of(kind).values()
    ),
)
_HASH: Final = re.compile(r"[0-9a-f]{64}")
_LARGEST_INTEGER: Final = 2**31 - 1  # what both databases keep in a whole number


def wrong(where: str, why: str) -> NoReturn:
    """Raise the error for a value of the wrong shape."""
    raise MalformedFileError(
        f"{where}: {why}", "ask for the file again, written by 'fleetcal share'"
    )


def text(value: Any, where: str) -> None:
    """Check for text that both databases can keep."""
    if not isinstance(value, str):
        wrong(where, "is not text")
    if "\0" in value or any("\ud800" <= c <= "\udfff" for c in value):
        wrong(where, "holds characters that no text has")


def filled(value: Any, where: str) -> None:
    """Check for text that is not blank."""
    text(value, where)
    if not value.strip():
        wrong(where, "is blank")


def number(value: Any, where: str) -> None:
    """Check for a finite number written as one with a fraction."""
    if not isinstance(value, float) or not math.isfinite(value):
        wrong(where, "is not a number with a fraction")
    if value == 0.0 and math.copysign(1.0, value) < 0.0:  # one database would keep the sign
        wrong(where, "is a zero with a sign")


def positive_integer(value: Any, where: str) -> None:
    """Check for a whole number from 1."""
    if isinstance(value, bool) or not isinstance(value, int) or not 0 < value <= _LARGEST_INTEGER:
        wrong(where, "is not a whole number above zero")


def integer(value: Any, where: str) -> None:
    """Check for a whole number that both databases keep."""
    small = isinstance(value, int) and abs(value) <= _LARGEST_INTEGER
    if isinstance(value, bool) or not small:
        wrong(where, "is not a whole number")


def flag(value: Any, where: str) -> None:
    """Check for true or false."""
    if not isinstance(value, bool):
        wrong(where, "is neither true nor false")


def day(value: Any, where: str) -> None:
    """Check for YYYY-MM-DD."""
    text(value, where)
    try:
        same = date.fromisoformat(value).isoformat() == value
    except ValueError:
        same = False
    if not same:
        wrong(where, f"{value[:30]!r} is not a day YYYY-MM-DD")


def moment(value: Any, where: str) -> None:
    """Check for a moment in UTC with microseconds."""
    text(value, where)
    try:
        found = datetime.fromisoformat(value)
        same = value.endswith("+00:00") and found.isoformat(timespec="microseconds") == value
    except ValueError:
        same = False
    if not same:
        wrong(where, f"{value[:40]!r} is not a moment YYYY-MM-DDThh:mm:ss.ssssss+00:00")


def sha256_text(value: Any, where: str) -> None:
    """Check for 64 hexadecimal digits, small letters."""
    if not isinstance(value, str) or not _HASH.fullmatch(value):
        wrong(where, "is not a SHA-256 of 64 small hexadecimal digits")


def json_object(value: Any, where: str) -> None:
    """Check for text that is a JSON object."""
    text(value, where)
    try:
        found = json.loads(value)
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict):
        wrong(where, "is not a JSON object")


def one_of(*words: str) -> Check:
    """Return a check for one of some words."""

    def check(value: Any, where: str) -> None:
        if value not in words or not isinstance(value, str):
            wrong(where, f"is none of {', '.join(words)}")

    return check


def optional(inner: Check) -> Check:
    """Return a check that lets null pass."""

    def check(value: Any, where: str) -> None:
        if value is not None:
            inner(value, where)

    return check


def listing(inner: Check) -> Check:
    """Return a check for a list of values of one shape."""

    def check(value: Any, where: str) -> None:
        if not isinstance(value, list):
            wrong(where, "is not a list")
        for i, item in enumerate(value, 1):
            inner(item, f"{where} {i}")

    return check


def row(*inner: Check) -> Check:
    """Return a check for a list of so many values, each of its own shape."""

    def check(value: Any, where: str) -> None:
        if not isinstance(value, list) or len(value) != len(inner):
            wrong(where, f"is not a list of {len(inner)} values")
        for i, (item, one) in enumerate(zip(value, inner, strict=True), 1):
            one(item, f"{where} {i}")

    return check


def column(column: RecordColumn) -> Check:
    """Return the check of a value of a column that is not empty."""
    words = text if column.blank or column.words else filled
    counted = positive_integer if column.above == 0 else integer
    plain: dict[type, Check] = {str: words, bool: flag, int: counted, float: number}

    def check(value: Any, where: str) -> None:
        plain[column.kind](value, where)
        fault = column.fault(value)
        if fault:
            wrong(where, fault)

    return check


def columns(
    record_type: type[DataclassInstance], *without: str, version: int = VERSION
) -> tuple[dict[str, Check], dict[str, Check]]:
    """Return the checks of the columns of a record that must be there, and those that may lack.

    Args:
        version: Of the share file.
    """
    must, may = {}, {}
    for name, one in columns_of(record_type).items():
        if name in without or (one.since > version and not one.may_be_empty):
            continue
        if one.since > 1 and one.may_be_empty:
            may[name] = column(one)
        else:
            must[name] = optional(column(one)) if one.may_be_empty else column(one)
    return must, may


def record(shape: Mapping[str, Check], may_lack: Mapping[str, Check] | None = None) -> Check:
    """Return a check for an object with exactly these names, and perhaps some more."""
    more = may_lack or {}

    def check(value: Any, where: str) -> None:
        if not isinstance(value, dict):
            wrong(where, "is not an object")
        for name in value:
            if name not in shape and name not in more:
                wrong(where, f"unknown name {name[:40]!r}")
        for name, inner in shape.items():
            if name not in value:
                wrong(where, f"{name!r} is missing")
            inner(value[name], f"{where}, {name}")
        for name in more.keys() & value.keys():
            more[name](value[name], f"{where}, {name}")

    return check
