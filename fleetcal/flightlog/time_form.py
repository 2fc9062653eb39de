"""In which form a column tells the time."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fleetcal.flightlog.headings import Heading
from fleetcal.flightlog.text_form import NUMBER
from fleetcal.flightlog.unit_words import unit_named

_TIME: Final = r"\d{1,2}:\d{2}:\d{2}([.,]\d+)?( ?[AaPp][Mm])?"
_ZONE: Final = r"( ?(Z|UTC|[+-]\d{2}(:?\d{2})?))?"
_YEAR_FIRST: Final = re.compile(r"\d{4}([-/.])\d{1,2}\1\d{1,2}")
_YEAR_LAST: Final = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})")
_TIME_OF_DAY: Final = re.compile(_TIME + _ZONE)
_HOUR_MINUTE: Final = re.compile(r"\d{1,2}:\d{2}( ?[AaPp][Mm])?")
_BOTH: Final = re.compile(r"(\S+?)[T ]+(\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?.*)")


@dataclass(frozen=True)
class TimeForm:
    """How a column tells the time.

    Attributes:
        quantity: date_time, date, time_of_day, seconds_of_day, epoch_time or elapsed_time.
        unit: For a date: ymd, dmy, mdy, ``ymd8`` or ``?`` where day and month cannot be told apart;
            for a number: s, ms, min, h; else hh:mm:ss, hh:mm, hhmmss.
    """

    quantity: str
    unit: str


def time_form(heading: Heading, filled: Sequence[str], decimal: str) -> TimeForm | None:
    """Tell the form of a clock column from its words and its cells.

    Args:
        filled: Filled cells spread over the column.
        decimal: The decimal sign of the file.

    Returns:
        None if the cells are not times of any known form.
    """
    middle = filled[len(filled) // 2]
    both = _BOTH.fullmatch(middle)
    if both and (order := _date_order([_day_part(cell) for cell in filled], heading)):
        return TimeForm("date_time", order)
    if order := _date_order(filled, heading):
        return TimeForm("date", order)
    if _TIME_OF_DAY.fullmatch(middle):
        elapsed = heading.words & {"elapsed", "since"}
        return TimeForm("elapsed_clock" if elapsed else "time_of_day", "hh:mm:ss")
    if _HOUR_MINUTE.fullmatch(middle):
        return TimeForm("time_of_day", "hh:mm")
    if NUMBER.fullmatch(middle):
        return _numeric_form(heading, middle.replace(",", "."), filled)
    return None


def _day_part(cell: str) -> str:
    """Return what stands before the time in a cell of date and time."""
    return (cell.split("T")[0].split() or [""])[0]


def _date_order(cells: Sequence[str], heading: Heading) -> str | None:
    """Tell the order of year, month and day, ``?`` if the cells leave it open."""
    middle = cells[len(cells) // 2]
    if _YEAR_FIRST.fullmatch(middle):
        return "ymd"
    if "date" in heading.words and re.fullmatch(r"(19|20)\d{6}", middle):
        return "ymd8"
    found = [match for match in map(_YEAR_LAST.fullmatch, cells) if match]
    if len(found) < 0.5 * len(cells):
        return None
    stated = " ".join((heading.text, *heading.unit_texts)).lower()
    if re.search(r"d+[-/. ]?m+[-/. ]?y", stated) or found[0][2] == ".":
        return "dmy"
    if re.search(r"m+[-/. ]?d+[-/. ]?y", stated):
        return "mdy"
    if any(int(match[1]) > 12 for match in found):
        return "dmy"
    return "mdy" if any(int(match[3]) > 12 for match in found) else "?"


def _numeric_form(heading: Heading, middle: str, filled: Sequence[str]) -> TimeForm | None:
    """Tell what a clock that is a plain number counts."""
    stated = " ".join((heading.text, *heading.unit_texts)).lower()
    if "hhmmss" in stated.replace(":", ""):
        return TimeForm("time_of_day", "hhmmss")
    if "date" in heading.words:
        return None
    units = [u for text in heading.unit_texts if (u := unit_named(text, "time"))]
    unit = units[0] if units else "s"
    size = abs(float(middle))
    if size > 1e8:
        for name, largest in (("s", 1e10), ("ms", 1e13), ("us", 1e16), ("ns", 1e19)):
            if size < largest:
                return TimeForm("epoch_time", name)
        return None
    if "epoch" in heading.words:
        return None
    of_day = {"day", "midnight", "utc"} & heading.words and "elapsed" not in heading.words
    if of_day and unit in {"s", "ms"} and size < 2 * 86400.0 * (1000.0 if unit == "ms" else 1.0):
        six_figures = [cell for cell in filled if re.fullmatch(r"\d{6}([.,]\d+)?", cell)]
        if not units and "seconds" not in heading.words and len(six_figures) == len(filled):
            return TimeForm("time_of_day", "hhmmss")
        return TimeForm("seconds_of_day", unit)
    return TimeForm("elapsed_time", unit)
