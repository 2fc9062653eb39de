"""ICARTT files: the published text format of airborne research, file format index 1001."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Final

from fleetcal.errors import MalformedFileError
from fleetcal.flightlog.file_bytes import text_blocks
from fleetcal.flightlog.headings import take_apart
from fleetcal.flightlog.quantities import match_quantity
from fleetcal.flightlog.raw_table import Labels, RawTable, table_of_rows
from fleetcal.flightlog.row_blocks import RowForm

_FIRST_LINE: Final = re.compile(rb"\s*(\d+)\s*[, ]\s*1001\s*(?:[,\n].*)?$")
_MOST_HEADER: Final = 5000
_DATE_LINE: Final = 7
_CLOCK_LINE: Final = 9
_COUNT_LINE: Final = 10
_DETECTION_FLAG: Final = re.compile(r"^[UL]LOD_FLAG\s*:\s*(-?[\d.]+)\s*$", re.IGNORECASE)


def is_icartt(path: Path) -> bool:
    """Tell whether a file begins as ICARTT files of one clock do."""
    first = next(text_blocks(path), b"")
    return bool(_FIRST_LINE.match(first[:200].split(b"\n")[0]))


def read_icartt(path: Path) -> RawTable:
    """Read the header of an ICARTT file and gather its rows.

    Returns:
        Headings are the names of the variables, or their standard names where those say more.

    Raises:
        MalformedFileError: If the header does not hold together, with the line.

    Source: ICARTT File Format Standards V2.0, NASA ESDS-RFC-029 (2017): number
    of header lines and format index; date; clock; number of variables, their
    scale factors and codes for missing values; one line of name, unit and
    standard name for each.
    """
    lines = _header(path)
    count = _count_of_variables(path, lines, _COUNT_LINE)
    scales = (1.0, *_numbers(path, lines, _COUNT_LINE + 1, count))
    missing = _numbers(path, lines, _COUNT_LINE + 2, count)
    flags = tuple(float(m[1]) for line in lines if (m := _DETECTION_FLAG.match(line.strip())))
    named = [_variable(_line(path, lines, _COUNT_LINE + 3 + i)) for i in range(count)]
    _, clock_unit = _variable(_line(path, lines, _CLOCK_LINE))
    form = RowForm(
        separator=",",
        quoted=False,
        fewest_cells=count + 1,
        most_cells=count + 1,
        heading_lines=frozenset(),
    )
    labels = Labels(
        headings=("UTC seconds of day", *(name for name, _ in named)),
        units=(clock_unit or "s", *(unit for _, unit in named)),
        preamble=tuple(lines),
        heading_line=len(lines),
        missing=((), *((code, *flags) for code in missing)),
        scales=scales,
        day=_day(path, lines),
        kind="ICARTT",
    )
    return table_of_rows(path, form, len(lines) + 1, labels)


def _header(path: Path) -> list[str]:
    """Return the header lines that the first line counts."""
    text = b""
    for block in text_blocks(path):
        text += block
        if text.count(b"\n") > _MOST_HEADER:
            break
    lines = text.decode("utf-8", "replace").split("\n")[: _MOST_HEADER + 1]
    match = _FIRST_LINE.match(lines[0].encode())
    size = int(match[1]) if match else 0
    if not _COUNT_LINE + 3 < size < min(len(lines), _MOST_HEADER):
        raise _broken(path, 1, f"{lines[0].strip()[:40]!r} counts more header lines than there are")
    return lines[:size]


def _broken(path: Path, line: int, what: str) -> MalformedFileError:
    return MalformedFileError(
        f"{path.name}, line {line}: {what}.", "Write the header as the ICARTT format has it."
    )


def _line(path: Path, lines: list[str], number: int) -> str:
    """Return one header line, counted from 1."""
    if number > len(lines):
        raise _broken(path, len(lines), "the header ends before its variables")
    return lines[number - 1]


def _count_of_variables(path: Path, lines: list[str], number: int) -> int:
    text = _line(path, lines, number).strip()
    if not text.isdigit() or not 0 < int(text) < _MOST_HEADER:
        raise _broken(path, number, f"{text[:40]!r} is not a number of variables")
    return int(text)


def _numbers(path: Path, lines: list[str], number: int, count: int) -> tuple[float, ...]:
    """Read a line of one number for each variable."""
    texts = re.split(r"[,\s]+", _line(path, lines, number).strip().strip(","))
    try:
        found = tuple(float(text) for text in texts)
    except ValueError:
        raise _broken(path, number, "each variable needs one number") from None
    if len(found) != count:
        raise _broken(path, number, f"{len(found)} numbers for {count} variables")
    return found


def _variable(line: str) -> tuple[str, str]:
    """Return heading and unit of a variable: its name, or the description that says more."""
    parts = [part.strip() for part in line.split(",")]
    name, unit = parts[0], parts[1] if len(parts) > 1 else ""
    for text in (name, *parts[2:]):
        if match_quantity(take_apart(text, unit)) is not None:
            return text, unit
    return name, unit


def _day(path: Path, lines: list[str]) -> date:
    """Return the day on which the data begins."""
    texts = re.split(r"[,\s]+", _line(path, lines, _DATE_LINE).strip())
    try:
        year, month, day = (int(text) for text in texts[:3])
        return date(year, month, day)
    except ValueError:
        raise _broken(path, _DATE_LINE, "the date of the data is missing") from None
