"""IGC files: the flight record format of the FAI Sporting Code, read by its B and I records."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Final

import numpy as np

from fleetcal.errors import EmptyFileError, MalformedFileError
from fleetcal.flightlog.cells import Floats
from fleetcal.flightlog.clock import ClockReading
from fleetcal.flightlog.columns import ColumnChoice
from fleetcal.flightlog.file_bytes import hash_of, text_blocks
from fleetcal.flightlog.logged import Logged
from fleetcal.flightlog.raw_table import SPOILT_SHARE
from fleetcal.flightlog.time_order import unroll_midnight

_HEAD: Final = re.compile(rb"(?:A[A-Z0-9]{3}|HFDTE|H[FOP][A-Z]{3})")
_FIX: Final = re.compile(
    r"B(\d\d)(\d\d)(\d\d)(\d\d)(\d{5})([NS])(\d{3})(\d{5})([EW])([AV])([-\d]\d{4})([-\d]\d{4})(.*)"
)
_DAY: Final = re.compile(r"HFDTE(?:DATE)?:?\s*(\d\d)(\d\d)(\d\d)")
_FIX_LENGTH: Final = 35
# letter codes of the format -> quantity and unit; three figures before the decimals
_LETTERS: Final = {
    "IAS": ("indicated_airspeed", "km/h"),
    "TAS": ("true_airspeed", "km/h"),
    "GSP": ("ground_speed", "km/h"),
    "TRT": ("track", "deg"),
    "TRM": ("track", "deg"),
    "HDT": ("heading", "deg"),
    "HDM": ("heading", "deg"),
    "OAT": ("probe_temperature", "degC"),
}
_INTEGER_FIGURES: Final = 3
_SATELLITE: Final = frozenset({"ground_speed", "track", "latitude", "longitude", "gps_altitude"})


@dataclass(frozen=True)
class _Extension:
    """A field of the B records that the I record announces; places from 0, stop beyond the end."""

    letters: str
    start: int
    stop: int


@dataclass(frozen=True, kw_only=True)
class _Fixes:
    """The B records of a file, and where they stand."""

    rows: list[tuple[str, ...]]
    lines: list[int]
    texts: list[str]
    first_bad: tuple[int, str] | None
    bad: int


def is_igc(path: Path) -> bool:
    """Tell whether a file is a flight record: headed by an A or H record, with B records."""
    first = next(text_blocks(path), b"")
    lines = [line for line in first[:200_000].split(b"\n") if line.strip()]
    if not lines or not _HEAD.match(lines[0]):
        return False
    return any(_FIX.match(line.decode("latin-1")) for line in lines)


def read_igc(path: Path) -> Logged:
    """Read a flight record.

    Returns:
        With positions, both altitudes, and the extensions that matter here.

    Raises:
        MalformedFileError: If the I record or more than 2 % of the B records do not hold together.

    Source: FAI Sporting Code section 3, technical specification for flight
    recorders, appendix A, from memory: units of the letter codes, three
    figures before the decimals of a speed, angle or temperature, pressure
    altitude to 1013.25 hPa. A recorded flight agrees with its own positions.
    """
    extensions, day, fixes = _records(path)
    if fixes.first_bad and fixes.bad > SPOILT_SHARE * (len(fixes.rows) + fixes.bad):
        number, text = fixes.first_bad
        raise MalformedFileError(
            f"{path.name}, line {number}: {text[:40]!r} is not a B record ({fixes.bad} such "
            "lines).",
            "Take the file from the recorder again.",
        )
    if not fixes.rows:
        raise EmptyFileError(f"{path.name} has no B records.", "Take it from the recorder again.")
    choices, values = _columns(extensions, fixes)
    warnings = [f"{fixes.bad} B records cannot be read and are left out"] if fixes.bad else []
    decimals = next((e for e in extensions if e.letters == "TDS"), None)
    seconds = _seconds(fixes, decimals)
    letters = {e.letters for e in extensions}
    return Logged(
        source_name=path.name,
        sha256=hash_of(path),
        kind="IGC",
        headings=tuple(choice.heading for choice in choices),
        clock_heading="B record",
        clock=ClockReading(
            unroll_midnight(seconds),
            None if day is None else datetime(day.year, day.month, day.day, tzinfo=UTC),
            (),
        ),
        line_numbers=np.array(fixes.lines, dtype=np.int32),
        choices=tuple(choices),
        values=values,
        track_reference="magnetic" if "TRM" in letters and "TRT" not in letters else "true",
        warnings=tuple(warnings),
        other_fields=tuple(e.letters for e in extensions if e.letters not in _LETTERS),
    )


def _records(path: Path) -> tuple[list[_Extension], date | None, _Fixes]:
    """Go through the lines once."""
    extensions: list[_Extension] = []
    day: date | None = None
    rows: list[tuple[str, ...]] = []
    lines: list[int] = []
    texts: list[str] = []
    first_bad: tuple[int, str] | None = None
    bad = number = 0
    for block in text_blocks(path):
        for text in block.decode("utf-8", "replace").split("\n")[:-1]:
            number += 1
            if text.startswith("B"):
                match = _FIX.match(text)
                if match is None:
                    bad += 1
                    first_bad = first_bad or (number, text)
                    continue
                rows.append(match.groups())
                lines.append(number)
                texts.append(text)
            elif text.startswith("I") and not extensions:
                extensions = _extensions(path, number, text)
            elif day is None and (found := _DAY.match(text)):
                day = _date(found)
    return (
        extensions,
        day,
        _Fixes(rows=rows, lines=lines, texts=texts, first_bad=first_bad, bad=bad),
    )


def _date(found: re.Match[str]) -> date | None:
    day, month, year = (int(part) for part in found.groups())
    try:
        return date((1900 if year >= 80 else 2000) + year, month, day)
    except ValueError:
        return None


def _extensions(path: Path, number: int, text: str) -> list[_Extension]:
    """Read the I record: number of fields, then first byte, last byte and letters of each."""
    count = text[1:3]
    fields = [text[3 + 7 * i : 10 + 7 * i] for i in range(int(count) if count.isdigit() else 0)]
    found = []
    for part in fields:
        begin, end = part[:2], part[2:4]
        if not (begin.isdigit() and end.isdigit() and _FIX_LENGTH < int(begin) <= int(end)):
            raise MalformedFileError(
                f"{path.name}, line {number}: {part!r} is not a field of an I record.",
                "Take the file from the recorder again.",
            )
        found.append(_Extension(part[4:7], int(begin) - 1, int(end)))
    return found


def _seconds(fixes: _Fixes, decimals: _Extension | None) -> Floats:
    seconds = np.array([int(h) * 3600 + int(m) * 60 + int(s) for h, m, s, *_ in fixes.rows])
    if decimals is None:
        return seconds.astype(np.float64)
    texts = [text[decimals.start : decimals.stop] for text in fixes.texts]
    return seconds + _numbers(texts, decimals.stop - decimals.start)


def _numbers(texts: list[str], decimals: int) -> Floats:
    """Turn fields of figures into numbers with so many decimals, NaN where one is none."""
    integers = [float(t) if t.lstrip("-").isdigit() and t.isascii() else np.nan for t in texts]
    return np.array(integers) / 10.0**decimals


def _columns(
    extensions: list[_Extension], fixes: _Fixes
) -> tuple[list[ColumnChoice], dict[int, Floats]]:
    """Bring fixes and extensions into columns."""
    columns: list[tuple[str, str, str, Floats]] = [
        ("latitude", "latitude", "deg", _angle(fixes, extensions, 3, "LAD")),
        ("longitude", "longitude", "deg", _angle(fixes, extensions, 6, "LOD")),
        ("pressure_altitude", "pressure altitude", "m", _numbers([r[10] for r in fixes.rows], 0)),
        ("gps_altitude", "GPS altitude", "m", _numbers([r[11] for r in fixes.rows], 0)),
    ]
    taken: set[str] = set()
    for field in sorted(extensions, key=lambda e: e.letters in {"TRM", "HDM"}):
        quantity, unit = _LETTERS.get(field.letters, ("", ""))
        if not quantity or quantity in taken:
            continue
        taken.add(quantity)
        texts = [text[field.start : field.stop] for text in fixes.texts]
        width = field.stop - field.start
        columns.append(
            (quantity, field.letters, unit, _numbers(texts, max(width - _INTEGER_FIGURES, 0)))
        )
    no_fix = np.array([row[9] == "V" for row in fixes.rows])
    choices, values = [], {}
    for index, (quantity, heading, unit, numbers) in enumerate(columns):
        if quantity in _SATELLITE:
            numbers = np.where(no_fix, np.nan, numbers)
        known = numbers[np.isfinite(numbers)]
        if known.size == 0 or (quantity == "pressure_altitude" and not known.any()):
            continue
        choices.append(
            ColumnChoice(
                quantity=quantity,
                heading=heading,
                index=index,
                unit=unit,
                confidence=1.0,
                sample=_shown(quantity, known[0]),
            )
        )
        values[index] = numbers
    return choices, values


def _shown(quantity: str, value: float) -> str:
    """Write a value with the decimals that the format gives it."""
    return f"{value:.5f}" if quantity in {"latitude", "longitude"} else f"{value:g}"


def _angle(fixes: _Fixes, extensions: list[_Extension], place: int, letters: str) -> Floats:
    """Return latitude or longitude in degrees; more decimals of a minute may stand apart."""
    degrees = np.array([float(row[place]) for row in fixes.rows])
    minutes = np.array([float(row[place + 1]) for row in fixes.rows]) / 1000.0
    sign = np.array([-1.0 if row[place + 2] in "SW" else 1.0 for row in fixes.rows])
    more = next((e for e in extensions if e.letters == letters), None)
    if more is not None:
        texts = [text[more.start : more.stop] for text in fixes.texts]
        extra = _numbers(texts, more.stop - more.start)
        minutes = minutes + np.nan_to_num(extra) / 1000.0
    return np.asarray(sign * (degrees + minutes / 60.0), dtype=np.float64)
