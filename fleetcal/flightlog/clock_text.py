"""Dates and times written as text, turned into seconds without a loop over cells.

Cells of one length and one pattern are read digit by digit for the whole
column at once; what does not fit the pattern is read one different text at a
time.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import numpy.typing as npt

from fleetcal.flightlog.cut_cells import Letters, Texts
from fleetcal.flightlog.plain_numbers import Floats, Mask

if TYPE_CHECKING:  # it takes longer to load than a small log to read, and is rarely needed
    import pandas as pd

_TIME: Final = r"(?P<h>\d{1,3}):(?P<m>\d\d)(?::(?P<s>\d\d)(?:[.,](?P<f>\d+))?)?"
_SPELT: Final = re.compile(_TIME)
_RUN_ON: Final = re.compile(r"(?P<h>\d\d)(?P<m>\d\d)(?P<s>\d\d)(?:[.,](?P<f>\d+))?")
_ZONE: Final = r"(?P<zone> ?(?:Z|UTC|[+-]\d\d(?::?\d\d)?))?"
_DATES: Final = {
    "ymd": r"(?P<Y>\d{4})[-/.](?P<M>\d\d)[-/.](?P<D>\d\d)",
    "dmy": r"(?P<D>\d\d)[-/.](?P<M>\d\d)[-/.](?P<Y>\d{4})",
    "mdy": r"(?P<M>\d\d)[-/.](?P<D>\d\d)[-/.](?P<Y>\d{4})",
    "ymd8": r"(?P<Y>\d{4})(?P<M>\d\d)(?P<D>\d\d)",
}
_DATE_FORMATS: Final = {"dmy": ("%d", "%m"), "mdy": ("%m", "%d")}
# a time stamp outside this span is a fault of the recorder
_OLDEST: Final = "1970-01-01"
_NEWEST: Final = "2200-01-01"
_ORDINAL_1970: Final = date(1970, 1, 1).toordinal()
_LIMITS: Final = {"h": 999, "m": 59, "s": 60, "M": 12, "D": 31, "Y": 2199}
_DAY_S: Final = 86400.0
# cells are as many letters wide as some words of 64 bits
_EVEN: Final = 8


def date_times(cells: Texts, order: str) -> Floats:
    """Read cells that hold date and time, as seconds after the start of 1970 UTC.

    Args:
        cells: Shape (n,).
        order: ymd, dmy, mdy or ``?``.

    Returns:
        Shape (n,): NaN where a cell cannot be read.
    """
    pattern = re.compile(_DATES.get(order, _DATES["dmy"]) + "[T ]" + _TIME + _ZONE)
    return _read(cells, pattern, lambda texts: _date_times_one_by_one(texts, order))


def dates(cells: Texts, order: str) -> Floats:
    """Read dates, as seconds from the start of 1970 to the start of the day.

    Args:
        cells: Shape (n,).
        order: ymd, dmy, mdy or ymd8.

    Returns:
        Shape (n,).
    """
    pattern = re.compile(_DATES.get(order, _DATES["dmy"]))
    return _read(cells, pattern, lambda texts: _since_1970(_parse_dates(texts, order)))


def times_of_day(cells: Texts, form: str) -> Floats:
    """Read cells such as 10:31:05.2 or 103105 as seconds after midnight.

    Args:
        cells: Shape (n,).
        form: hhmmss, or anything else for times with colons.

    Returns:
        Shape (n,).
    """
    if form == "hhmmss":
        return _read(cells, _RUN_ON, _run_on_one_by_one)
    return _read(cells, _SPELT, _times_one_by_one)


def _read(
    cells: Texts, pattern: re.Pattern[str], one_by_one: Callable[[pd.Series[str]], Floats]
) -> Floats:
    """Read cells by their pattern, the rest one different text at a time."""
    width = -(-cells.dtype.itemsize // _EVEN) * _EVEN
    cells = np.ascontiguousarray(cells, dtype=f"S{width}")
    letters = cells.view(np.uint8).reshape(cells.size, width)
    lengths = _lengths(letters)
    if isinstance(lengths, int):
        seconds, good = _by_pattern(letters, lengths, pattern)
        left = ~good
        seconds[left] = np.nan
    else:
        seconds = np.full(cells.size, np.nan)
        left = lengths > 0
        for length in np.unique(lengths[left])[:20].tolist():
            rows = np.flatnonzero(lengths == length)
            values, good = _by_pattern(letters[rows], length, pattern)
            seconds[rows[good]] = values[good]
            left[rows[good]] = False
    if left.any():
        different, back = np.unique(cells[left], return_inverse=True)
        import pandas as pd

        texts = pd.Series(np.char.decode(different, "utf-8", "replace").astype(object), dtype=str)
        seconds[left] = one_by_one(texts)[back]
    return seconds


def _lengths(letters: Letters) -> int | npt.NDArray[np.intp]:
    """Return the length of each cell, one number where all have the same."""
    rows, width = letters.shape
    first = int(np.count_nonzero(letters[0])) if rows else 0
    ends_there = first == width or not letters[:, min(first, width - 1)].any()
    if first and ends_there and letters[:, first - 1].all():
        return first
    return np.asarray(np.count_nonzero(letters, axis=1), dtype=np.intp)


def _by_pattern(letters: Letters, length: int, pattern: re.Pattern[str]) -> tuple[Floats, Mask]:
    """Read rows of letters that all follow the pattern of the first one."""
    first = letters[0, :length].tobytes().decode("latin-1")
    match = pattern.fullmatch(first)
    if match is None:
        return np.zeros(letters.shape[0]), np.zeros(letters.shape[0], dtype=bool)
    spans = {name: match.span(name) for name, text in match.groupdict().items() if text}
    columns, good = _letters_by_place(letters, spans)
    parts = {name: _number(columns, span) for name, span in spans.items() if name != "zone"}
    for name, largest in _LIMITS.items():
        if name in parts:
            good = good & (parts[name] <= largest)
    if "f" in parts:
        begin, end = spans["f"]
        parts["f"] = parts["f"] / 10.0 ** (end - begin)
    seconds: Floats = np.zeros(letters.shape[0])
    for name, size in (("h", 3600.0), ("m", 60.0), ("s", 1.0), ("f", 1.0)):
        if name in parts:
            seconds += size * parts[name]
    if "Y" in parts:
        seconds += _DAY_S * _days(parts["Y"] * 10000.0 + parts["M"] * 100.0 + parts["D"])
    if match.groupdict().get("zone"):
        seconds -= offset_seconds(match["zone"].strip())
    return seconds, good & np.isfinite(seconds)


def _letters_by_place(
    letters: Letters, spans: dict[str, tuple[int, int]]
) -> tuple[list[float | Letters], Mask]:
    """Return the digit at each place, one number where all rows have the same.

    Returns:
        Also whether a row has digits and other letters where the first has them.
    """
    digits = {i for n, span in spans.items() if n != "zone" for i in range(*span)}
    good = np.ones(letters.shape[0], dtype=bool)
    columns: list[float | Letters] = (letters[0] - 48.0).tolist()
    for place in _differing(letters):
        if place in digits:
            columns[place] = column = letters[:, place] - np.uint8(48)
            good &= column <= 9
        else:
            good &= letters[:, place] == letters[0, place]
    return columns, good


def _differing(letters: Letters) -> list[int]:
    """Return the places at which not all rows have the same letter."""
    words = letters.view(np.uint64)
    apart = [np.bitwise_or.reduce(column ^ column[0]) for column in words.T]
    return [int(place) for place in np.flatnonzero(np.array(apart).view(np.uint8))]


def _number(columns: Sequence[float | Letters], span: tuple[int, int]) -> float | Floats:
    """Put neighbouring digits together."""
    value: Any = 0.0
    for place in range(*span):
        value = value * 10.0 + columns[place]
    number: float | Floats = value
    return number


def _days(written: float | Floats) -> float | Floats:
    """Return days after the start of 1970, NaN for a day that is in no calendar.

    Args:
        written: Year, month and day, as 20240502; one number where all rows have the same.
    """
    if isinstance(written, float):
        return _ordinal(int(written))
    begins = np.flatnonzero(np.concatenate([[True], np.diff(written) != 0.0]))
    numbers = np.full(begins.size, np.nan)
    known: dict[float, float] = {}
    for place, value in enumerate(written[begins].tolist()):
        if value not in known:
            known[value] = _ordinal(int(value))
        numbers[place] = known[value]
    return np.repeat(numbers, np.diff(np.append(begins, written.size)))


def _ordinal(written: int) -> float:
    year, month, day = written // 10000, written // 100 % 100, written % 100
    try:
        return float(date(year, month, day).toordinal() - _ORDINAL_1970) if year >= 1970 else np.nan
    except ValueError:
        return float("nan")


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
    import pandas as pd

    parsed = pd.to_datetime(plain, format=form, errors="coerce")
    oldest, newest = pd.Timestamp(_OLDEST), pd.Timestamp(_NEWEST)
    return parsed.where((parsed >= oldest) & (parsed < newest))


def _since_1970(days: pd.Series[pd.Timestamp]) -> Floats:
    import pandas as pd

    return np.asarray((days - pd.Timestamp(_OLDEST)).dt.total_seconds(), dtype=np.float64)


def _date_times_one_by_one(texts: pd.Series[str], order: str) -> Floats:
    """Read date and time with any zone."""
    parts = texts.str.extract(
        r"^(?P<date>\S+?)[T ]+(?P<time>[\d:.,]+(?: ?[AaPp][Mm])?) ?(?P<zone>Z|UTC|[+-][\d:]+)?$"
    )
    seconds = _since_1970(_parse_dates(parts["date"].fillna(""), order))
    seconds = seconds + _seconds_of(parts["time"].fillna(""))
    zones = parts["zone"].fillna("Z")
    shifts = {zone: offset_seconds(zone) for zone in zones.unique()}
    return np.asarray(seconds - zones.map(shifts).to_numpy(dtype=np.float64), dtype=np.float64)


def _times_one_by_one(texts: pd.Series[str]) -> Floats:
    return _seconds_of(texts.str.replace(r" ?(Z|UTC|[+-][\d:]+)$", "", regex=True))


def _run_on_one_by_one(texts: pd.Series[str]) -> Floats:
    """Read hhmmss, whose leading zeros a spreadsheet may have dropped."""
    padded = texts.str.replace(",", ".", regex=False).str.extract(r"^(\d{1,6})(\.\d+)?$")
    digits = padded[0].fillna("").str.zfill(6)
    spelt = digits.str[:2] + ":" + digits.str[2:4] + ":" + digits.str[4:] + padded[1].fillna("")
    return _seconds_of(spelt.where(padded[0].notna(), ""))


def _seconds_of(texts: pd.Series[str]) -> Floats:
    """Read hh:mm:ss, hh:mm and 12-hour times; NaN where a cell is none of them."""
    parts = texts.str.extract(r"^(\d{1,3}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?(?: ?([AaPp])[Mm])?$")
    import pandas as pd

    hours = pd.to_numeric(parts[0], errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
    minutes = pd.to_numeric(parts[1], errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
    rest = parts[2].fillna("0").str.replace(",", ".", regex=False)
    seconds = pd.to_numeric(rest, errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
    half = parts[3].str.lower().fillna("")
    hours = np.where(half.ne("") & (hours == 12), 0.0, hours) + np.where(half.eq("p"), 12.0, 0.0)
    return np.asarray(hours * 3600.0 + minutes * 60.0 + seconds, dtype=np.float64)


def offset_seconds(zone: str) -> float:
    """Return the offset from UTC that a text such as ``+02:00`` states, in seconds; NaN if none."""
    if zone in {"Z", "UTC"}:
        return 0.0
    match = re.fullmatch(r"([+-]?)(\d{1,2}):?(\d{2})?(?::\d{2})?", zone.strip())
    if match is None:
        return float("nan")
    size = int(match[2]) * 3600.0 + int(match[3] or 0) * 60.0
    return -size if match[1] == "-" else size
