"""The clock of a recording: seconds from its first sample, and its date if it has one."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

import numpy as np
import pandas as pd

from fleetcal.errors import MalformedFileError
from fleetcal.flightlog.cells import Floats, numbers_of, read_texts, refuse_many
from fleetcal.flightlog.columns import ColumnChoice
from fleetcal.flightlog.headings import take_apart
from fleetcal.flightlog.raw_table import RawTable
from fleetcal.flightlog.text_form import MISSING_WORDS
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
_DATE_FORMATS: Final = {"dmy": ("%d", "%m"), "mdy": ("%m", "%d")}
# a time stamp outside this span is a fault of the recorder
_OLDEST: Final = pd.Timestamp("1970-01-01")
_NEWEST: Final = pd.Timestamp("2200-01-01")
_ISO_DATE: Final = re.compile(r"\b((?:19|20)\d{2})-(\d{2})-(\d{2})\b")


@dataclass(frozen=True)
class ClockReading:
    """The clock of each row.

    Attributes
    ----------
    seconds : ndarray of float, shape (rows,)
        Seconds after `zero`, NaN where the clock cannot be read.
    zero : datetime or None
        Aware UTC instant of second 0; None if the clock has no date.
    warnings : tuple of str
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


def read_clock(
    table: RawTable, choices: tuple[ColumnChoice, ...], clock: ColumnChoice
) -> ClockReading:
    """Read the clock of every row.

    Parameters
    ----------
    table : RawTable
    choices : tuple of ColumnChoice
        All columns understood: a date and an offset from UTC are looked for.
    clock : ColumnChoice
        The one that `choose_clock` returned.

    Returns
    -------
    ClockReading

    Raises
    ------
    MalformedFileError
        If more than 2 % of the cells cannot be read as times.
    """
    texts = read_texts(table, [clock.index])[clock.index]
    warnings: list[str] = []
    if clock.quantity == "date_time":
        seconds = _date_times(texts, clock, table)
        zero: datetime | None = datetime(1970, 1, 1, tzinfo=UTC)
        if clock.unit == "?":
            zero = None
            warnings.append(_two_ways(clock))
    elif clock.quantity in {"time_of_day", "elapsed_clock"}:
        seconds = _times_of_day(texts, clock, table)
        zero = None
    else:
        seconds = numbers_of(texts, clock.heading, table, warnings) * _SECONDS[clock.unit]
        zero = datetime(1970, 1, 1, tzinfo=UTC) if clock.quantity == "epoch_time" else None
    if clock.quantity in {"time_of_day", "seconds_of_day"}:
        seconds, zero = _dated(table, choices, seconds, warnings)
    if zero is not None and clock.quantity != "epoch_time":
        zero = _in_utc(zero, table, choices, clock, texts, warnings)
    return ClockReading(seconds, zero, tuple(warnings))


def _two_ways(choice: ColumnChoice) -> str:
    """Word the warning for a date whose day and month cannot be told apart."""
    return f"the date {choice.sample!r} in '{choice.heading}' can be read two ways; it is not used"


def _parse_dates(texts: pd.Series[str], order: str) -> pd.Series[pd.Timestamp]:
    """Turn dates without a time into time stamps, NaT where not possible or not of this age."""
    plain = texts.str.replace("[/.]", "-", regex=True)
    if order == "ymd8":
        form = "%Y%m%d"
    elif order == "ymd":
        form = "%Y-%m-%d"
    else:
        first, second = _DATE_FORMATS.get(order, ("%d", "%m"))
        year = plain.str.rsplit("-", n=1).str[-1].str.len().median()
        form = f"{first}-{second}-{'%Y' if year > 2 else '%y'}"
    dates = pd.to_datetime(plain, format=form, errors="coerce")
    return dates.where((dates >= _OLDEST) & (dates < _NEWEST))


def _date_times(texts: pd.Series[str], clock: ColumnChoice, table: RawTable) -> Floats:
    """Read cells that hold date and time, as seconds after the start of 1970 UTC."""
    parts = texts.str.extract(
        r"^(?P<date>\S+?)[T ]+(?P<time>[\d:.,]+(?: ?[AaPp][Mm])?) ?(?P<zone>Z|UTC|[+-][\d:]+)?$"
    )
    days = _parse_dates(parts["date"].fillna(""), clock.unit)
    seconds = (days - _OLDEST).dt.total_seconds().to_numpy(dtype=np.float64)
    seconds = seconds + _seconds_of(parts["time"].fillna(""))
    zones = parts["zone"].fillna("Z")
    shifts = {zone: offset_seconds(zone) for zone in zones.unique()}
    seconds = seconds - zones.map(shifts).to_numpy(dtype=np.float64)
    _refuse_unread(seconds, texts, clock, table)
    return np.asarray(seconds, dtype=np.float64)


def _times_of_day(texts: pd.Series[str], clock: ColumnChoice, table: RawTable) -> Floats:
    """Read cells such as 10:31:05.2 as seconds after midnight."""
    if clock.unit == "hhmmss":
        padded = texts.str.replace(",", ".", regex=False).str.extract(r"^(\d{1,6})(\.\d+)?$")
        digits = padded[0].fillna("").str.zfill(6)
        spelt = digits.str[:2] + ":" + digits.str[2:4] + ":" + digits.str[4:] + padded[1].fillna("")
        seconds = _seconds_of(spelt.where(padded[0].notna(), ""))
    else:
        seconds = _seconds_of(texts.str.replace(r" ?(Z|UTC|[+-][\d:]+)$", "", regex=True))
    _refuse_unread(seconds, texts, clock, table)
    return seconds


def _seconds_of(texts: pd.Series[str]) -> Floats:
    """Read hh:mm:ss, hh:mm and 12-hour times; NaN where a cell is none of them."""
    parts = texts.str.extract(r"^(\d{1,3}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?(?: ?([AaPp])[Mm])?$")
    hours = pd.to_numeric(parts[0], errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
    minutes = pd.to_numeric(parts[1], errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
    rest = parts[2].fillna("0").str.replace(",", ".", regex=False)
    seconds = pd.to_numeric(rest, errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
    half = parts[3].str.lower().fillna("")
    hours = np.where(half.ne("") & (hours == 12), 0.0, hours) + np.where(half.eq("p"), 12.0, 0.0)
    return np.asarray(hours * 3600.0 + minutes * 60.0 + seconds, dtype=np.float64)


def _refuse_unread(
    seconds: Floats, texts: pd.Series[str], clock: ColumnChoice, table: RawTable
) -> None:
    """Refuse a clock column with more than a few cells that are no times."""
    missing = texts.str.lower().isin(MISSING_WORDS).to_numpy(dtype=bool)
    refuse_many(np.isnan(seconds) & ~missing, texts, clock.heading, "not a time", table)
    if np.isnan(seconds).all():
        raise MalformedFileError(
            f"{table.source_name}, column '{clock.heading}': no cell can be read as a time.",
            "Give times as hh:mm:ss, as ISO 8601 date-time, or in seconds.",
        )


def _dated(
    table: RawTable, choices: tuple[ColumnChoice, ...], seconds: Floats, warnings: list[str]
) -> tuple[Floats, datetime | None]:
    """Give seconds of the day their date, from a column or from the lines above the table."""
    date = next((choice for choice in choices if choice.quantity == "date"), None)
    if date is None:
        return unroll_midnight(seconds), _preamble_date(table, warnings)
    if date.unit == "?":
        warnings.append(_two_ways(date))
        return unroll_midnight(seconds), None
    days = _parse_dates(read_texts(table, [date.index])[date.index], date.unit)
    if days.isna().all():
        warnings.append(f"no date can be read from '{date.heading}'")
        return unroll_midnight(seconds), None
    if days.nunique() > 1:
        since_1970 = (days.ffill().bfill() - _OLDEST).dt.total_seconds()
        return seconds + since_1970.to_numpy(dtype=np.float64), datetime(1970, 1, 1, tzinfo=UTC)
    # a date that stays that of the start while the clock passes midnight
    day = days.dropna().iloc[0]
    return unroll_midnight(seconds), datetime(day.year, day.month, day.day, tzinfo=UTC)


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


def offset_seconds(zone: str) -> float:
    """Return the offset from UTC that a text such as ``+02:00`` states, in seconds; NaN if none."""
    if zone in {"Z", "UTC"}:
        return 0.0
    match = re.fullmatch(r"([+-]?)(\d{1,2}):?(\d{2})?(?::\d{2})?", zone.strip())
    if match is None:
        return float("nan")
    size = int(match[2]) * 3600.0 + int(match[3] or 0) * 60.0
    return -size if match[1] == "-" else size


def _in_utc(
    zero: datetime,
    table: RawTable,
    choices: tuple[ColumnChoice, ...],
    clock: ColumnChoice,
    texts: pd.Series[str],
    warnings: list[str],
) -> datetime | None:
    """Carry a local clock to UTC by the offset column; without one it has no UTC date."""
    words = take_apart(clock.heading, table.units[clock.index]).words
    offset = next((choice for choice in choices if choice.quantity == "utc_offset"), None)
    zoned = texts.str.contains(r"(?:Z|UTC|:\d{2}[.,\d]* ?[+-]\d{2}(?::?\d{2})?)$", regex=True).any()
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
