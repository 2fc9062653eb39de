"""The clock of a recording: seconds from its first sample, and its date if it has one."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Final

import numpy as np

from fleetcal.errors import MalformedFileError
from fleetcal.flightlog.cells import (
    ColumnForm,
    Floats,
    NumberColumn,
    TextColumn,
    read_columns,
)
from fleetcal.flightlog.clock_text import date_times, dates, offset_seconds, times_of_day
from fleetcal.flightlog.columns import ColumnChoice
from fleetcal.flightlog.headings import take_apart
from fleetcal.flightlog.raw_table import RawTable
from fleetcal.flightlog.time_order import unroll_midnight

CLOCK_QUANTITIES: Final = (
    "date_time",
    "time_of_day",
    "epoch_time",
    "seconds_of_day",
    "elapsed_clock",
    "elapsed_time",
)
_SECONDS: Final = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9, "min": 60.0, "h": 3600.0}
_ZONED: Final = re.compile(r"(?:Z|UTC|:\d{2}[.,\d]* ?[+-]\d{2}(?::?\d{2})?)$")
_ISO_DATE: Final = re.compile(r"\b((?:19|20)\d{2})-(\d{2})-(\d{2})\b")


@dataclass(frozen=True)
class ClockReading:
    """The clock of each row.

    Attributes:
        seconds (rows,): Seconds after `zero`, NaN where the clock cannot be read.
        zero: Aware UTC instant of second 0; None if the clock has no date.
    """

    seconds: Floats
    zero: datetime | None
    warnings: tuple[str, ...]


def choose_clock(choices: tuple[ColumnChoice, ...]) -> ColumnChoice | None:
    """Return the column that tells the time best, None if there is none."""
    found = {choice.quantity: choice for choice in choices}
    for quantity in CLOCK_QUANTITIES:
        if quantity in found and not (quantity == "time_of_day" and _coarse(found)):
            return found[quantity]
    return None


def _coarse(found: dict[str, ColumnChoice]) -> bool:
    """Tell whether a time of day without seconds has a finer clock beside it."""
    finer = {"epoch_time", "seconds_of_day", "elapsed_time"} & found.keys()
    return found["time_of_day"].unit == "hh:mm" and bool(finer)


def clock_columns(choices: tuple[ColumnChoice, ...], clock: ColumnChoice) -> dict[int, ColumnForm]:
    """Tell how the columns of the clock are to be read.

    Args:
        choices: All columns understood: a date is looked for.
        clock: The one that `choose_clock` returned.

    Returns:
        Place of the column -> how to read it, for `read_columns`.
    """
    forms: dict[int, ColumnForm] = {}
    if clock.quantity == "date_time":
        forms[clock.index] = TextColumn(
            clock.heading, "not a time", lambda cells: date_times(cells, clock.unit)
        )
    elif clock.quantity in {"time_of_day", "elapsed_clock"}:
        forms[clock.index] = TextColumn(
            clock.heading, "not a time", lambda cells: times_of_day(cells, clock.unit)
        )
    else:
        forms[clock.index] = NumberColumn(clock.heading, clock.missing)
    date = _date_column(choices, clock)
    if date is not None and date.unit != "?":
        order = date.unit
        forms[date.index] = TextColumn(date.heading, "not a date", lambda c: dates(c, order))
    return forms


def _date_column(choices: tuple[ColumnChoice, ...], clock: ColumnChoice) -> ColumnChoice | None:
    """Return the column that gives the date of a time of day."""
    if clock.quantity not in {"time_of_day", "seconds_of_day"}:
        return None
    return next((choice for choice in choices if choice.quantity == "date"), None)


def settle_clock(
    table: RawTable,
    choices: tuple[ColumnChoice, ...],
    clock: ColumnChoice,
    values: Mapping[int, Floats],
) -> ClockReading:
    """Make one clock of the columns that tell the time.

    Args:
        choices: All columns understood: a date and an offset from UTC are looked for.
        values (rows,): What was read from the columns that `clock_columns` names.

    Raises:
        MalformedFileError: If no cell can be read as a time.
    """
    seconds = values[clock.index]
    warnings: list[str] = []
    zero: datetime | None = None
    if np.isnan(seconds).all():
        raise MalformedFileError(
            f"{table.source_name}, column '{clock.heading}': no cell can be read as a time.",
            "Give times as hh:mm:ss, as ISO 8601 date-time, or in seconds.",
        )
    if clock.quantity == "date_time":
        zero = datetime(1970, 1, 1, tzinfo=UTC)
        if clock.unit == "?":
            zero = None
            warnings.append(_two_ways(clock))
    elif clock.quantity not in {"time_of_day", "elapsed_clock"}:
        seconds = seconds * _SECONDS[clock.unit]
        zero = datetime(1970, 1, 1, tzinfo=UTC) if clock.quantity == "epoch_time" else None
    if clock.quantity in {"time_of_day", "seconds_of_day"}:
        seconds, zero = _dated(
            table, choices, clock, seconds=seconds, values=values, warnings=warnings
        )
    if zero is not None and clock.quantity != "epoch_time":
        zero = _in_utc(zero, table, choices, clock, warnings)
    return ClockReading(seconds, zero, tuple(warnings))


def read_clock(
    table: RawTable, choices: tuple[ColumnChoice, ...], clock: ColumnChoice
) -> ClockReading:
    """Read the clock of every row.

    Args:
        choices: All columns understood: a date and an offset from UTC are looked for.
        clock: The one that `choose_clock` returned.

    Raises:
        MalformedFileError: If more than 2 % of the cells cannot be read as times.
    """
    values, spoilt = read_columns(table, clock_columns(choices, clock))
    reading = settle_clock(table, choices, clock, values)
    return replace(reading, warnings=(*spoilt, *reading.warnings))


def _two_ways(choice: ColumnChoice) -> str:
    """Word the warning for a date whose day and month cannot be told apart."""
    return f"the date {choice.sample!r} in '{choice.heading}' can be read two ways; it is not used"


def _dated(
    table: RawTable,
    choices: tuple[ColumnChoice, ...],
    clock: ColumnChoice,
    seconds: Floats,
    values: Mapping[int, Floats],
    warnings: list[str],
) -> tuple[Floats, datetime | None]:
    """Give seconds of the day their date, from a column or from the lines above the table."""
    date = _date_column(choices, clock)
    if date is None:
        return unroll_midnight(seconds), _stated_day(table, warnings)
    if date.unit == "?":
        warnings.append(_two_ways(date))
        return unroll_midnight(seconds), None
    days = values[date.index]
    known = np.flatnonzero(np.isfinite(days))
    if not known.size:
        warnings.append(f"no date can be read from '{date.heading}'")
        return unroll_midnight(seconds), None
    if np.any(days[known] != days[known[0]]):
        last = np.searchsorted(known, np.arange(days.size), side="right") - 1
        return seconds + days[known[np.maximum(last, 0)]], datetime(1970, 1, 1, tzinfo=UTC)
    # a date that stays that of the start while the clock passes midnight
    start = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=float(days[known[0]]))
    return unroll_midnight(seconds), start


def _stated_day(table: RawTable, warnings: list[str]) -> datetime | None:
    """Take the date that the format states, or else the only one above the headings."""
    if table.day is not None:
        return datetime(table.day.year, table.day.month, table.day.day, tzinfo=UTC)
    return _preamble_date(table, warnings)


def _preamble_date(table: RawTable, warnings: list[str]) -> datetime | None:
    """Take the date from the lines above the table if they hold exactly one."""
    found = {match.groups() for line in table.preamble for match in _ISO_DATE.finditer(line)}
    if len(found) != 1:
        return None
    year, month, day = (int(part) for part in found.pop())
    try:
        midnight = datetime(year, month, day, tzinfo=UTC)
    except ValueError:
        return None
    warnings.append(f"the date {midnight.date()} is taken from the lines above the headings")
    return midnight


def _in_utc(
    zero: datetime,
    table: RawTable,
    choices: tuple[ColumnChoice, ...],
    clock: ColumnChoice,
    warnings: list[str],
) -> datetime | None:
    """Carry a local clock to UTC by the offset column; without one it has no UTC date."""
    words = take_apart(clock.heading, table.units[clock.index]).words
    offset = next((choice for choice in choices if choice.quantity == "utc_offset"), None)
    cells = (row[clock.index] for row in table.sample if clock.index < len(row))
    zoned = any(_ZONED.search(cell) for cell in cells)
    if zoned or "utc" in words:
        return zero
    if offset is not None:
        shift = offset_seconds(offset.sample)
        if np.isfinite(shift):
            return zero - timedelta(seconds=shift)
    if "local" in words:
        warnings.append(
            f"'{clock.heading}' is local time without an offset: "
            "the date is taken, the hour is not UTC"
        )
        return zero
    warnings.append(f"'{clock.heading}' does not name its time zone; UTC is assumed")
    return zero
