"""A delimited text file as a table of text: headings, units and rows of equal width."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.errors import EmptyFileError, MalformedFileError
from fleetcal.flightlog.file_bytes import text_blocks
from fleetcal.flightlog.heading_rows import HeadingRows, find_heading_rows
from fleetcal.flightlog.row_blocks import RowBlock, RowFaults, RowForm, rows_of
from fleetcal.flightlog.text_form import find_decimal, find_separator, split_cells

SPOILT_SHARE: Final = 0.02
#: That a log may have.
MOST_COLUMNS: Final = 2000
_PARTING: Final = (b",", b";", b"\t", b"|")
# the lines at the start of a file among which headings and first rows are looked for
HEAD_LINES: Final = 3000
_SAMPLE_ROWS: Final = 200
# rows are held in memory up to this size; beyond it the file is read anew for each pass
_HELD_BYTES: Final = 128 << 20
# below this size a thread that hashes the file costs more than it gives
_SMALL_BYTES: Final = 1 << 20


@dataclass(frozen=True, kw_only=True)
class RawTable:
    """A delimited text file, taken apart but not yet understood.

    Attributes:
        source_name: File name without folder.
        sha256: Of the bytes of the file, in hexadecimal.
        separator, decimal: One character each; the separator blank stands for any white space. Rows
            with quotes are handed on with tabs instead.
        headings, units: One each for a column; a unit is empty where no row of units is given.
        preamble: Lines above the headings.
        heading_line: Line of the headings, counted from 1.
        line_numbers (rows,): Line of each row in the file.
        sample: Cells of rows spread over the whole table.
        spoilt: What was found wrong with rows that were left out.
        held: The rows, if they are few enough to be held.
        missing: Codes that stand for a missing value, one tuple a column; may be empty.
        scales: Factors on the numbers as written, one a column; may be empty.
        day: Day of the start, where the format states it.
        kind: What kind of file it is, in words.
    """

    source_name: str
    sha256: str
    separator: str
    decimal: str
    headings: tuple[str, ...]
    units: tuple[str, ...]
    preamble: tuple[str, ...]
    heading_line: int
    line_numbers: npt.NDArray[np.int32] = field(repr=False)
    sample: tuple[tuple[str, ...], ...] = field(repr=False)
    spoilt: tuple[str, ...]
    path: Path = field(repr=False)
    form: RowForm = field(repr=False)
    held: tuple[RowBlock, ...] = field(repr=False, default=())
    missing: tuple[tuple[float, ...], ...] = field(repr=False, default=())
    scales: tuple[float, ...] = field(repr=False, default=())
    day: date | None = None
    kind: str = "delimited text"

    @property
    def row_count(self) -> int:
        """Number of data rows."""
        return int(self.line_numbers.size)

    def blocks(self) -> Iterator[RowBlock]:
        """Go through the rows in blocks, from memory or from the file."""
        if self.held:
            yield from self.held
            return
        first = int(self.line_numbers[0]) if self.row_count else 1
        yield from rows_of(text_blocks(self.path), self.form, first, RowFaults())


def read_table(path: str | os.PathLike[str], headings_needed: bool = True) -> RawTable:
    """Read a delimited text file of any dialect as a table of text.

    Args:
        path: Path-like.
        headings_needed: False to let a file without headings pass, its columns named by number.

    Raises:
        DataError: If the file cannot be opened.
        EmptyFileError: If there is nothing in it, or headings only.
        NotTextError: If it is not text.
        MalformedFileError: If it is not a table, has no headings, or more than 2 % of its rows have
            the wrong number of cells.
    """
    place = Path(path)
    numbered, more = _head(place)
    lines = [line for _, line in numbered]
    found = find_separator(lines)
    if found is None:
        raise MalformedFileError(
            f"{place.name} holds no table: no separator splits its lines into columns.",
            "A log must be delimited text with a heading row, one row a sample.",
        )
    separator, width = found
    rows = find_heading_rows(lines, separator, width)
    _check_heading(
        rows, place.name, numbered, separator=separator, more=more, headings_needed=headings_needed
    )
    form = RowForm(
        separator=separator,
        quoted=any('"' in line for line in lines[rows.first_data :]),
        fewest_cells=rows.fewest_cells,
        most_cells=rows.most_cells,
        heading_lines=frozenset(line.encode() for line in rows.heading_lines),
    )
    headings = rows.headings or tuple(f"column {i + 1}" for i in range(width))
    return table_of_rows(
        place,
        form,
        numbered[rows.first_data][0],
        Labels(
            headings=headings,
            units=rows.units or ("",) * len(headings),
            preamble=tuple(lines[: rows.first_heading]),
            heading_line=numbered[rows.first_heading][0],
        ),
    )


@dataclass(frozen=True, kw_only=True)
class Labels:
    """Headings of a table and what stands above them.

    Attributes:
        heading_line: Counted from 1.
        kind: See `RawTable`.
    """

    headings: tuple[str, ...]
    units: tuple[str, ...]
    preamble: tuple[str, ...]
    heading_line: int
    missing: tuple[tuple[float, ...], ...] = ()
    scales: tuple[float, ...] = ()
    day: date | None = None
    kind: str = "delimited text"


def table_of_rows(path: Path, form: RowForm, first_line: int, labels: Labels) -> RawTable:
    """Gather the rows of a table whose form is known.

    Args:
        first_line: Line of the first row of data, counted from 1.

    Raises:
        EmptyFileError: If there are no rows.
        MalformedFileError: If more than 2 % of the rows have the wrong number of cells.
    """
    digest = hashlib.sha256()
    if path.stat().st_size < _SMALL_BYTES:
        table = _gathered(path, form, first_line, labels, digest.update)
        return replace(table, sha256=digest.hexdigest())
    begun: list[Future[None]] = []
    with ThreadPoolExecutor(1) as pool:

        def hashed_meanwhile(piece: bytes) -> None:
            for former in begun:  # so that no more than two pieces wait
                former.result()
            begun[:] = [pool.submit(digest.update, piece)]

        table = _gathered(path, form, first_line, labels, hashed_meanwhile)
    return replace(table, sha256=digest.hexdigest())


def _gathered(
    path: Path, form: RowForm, first_line: int, labels: Labels, seen: Callable[[bytes], object]
) -> RawTable:
    """Gather the rows.

    Args:
        seen: Is given the bytes of the file.
    """
    faults = RowFaults()
    held: list[RowBlock] = []
    held_bytes = 0
    lines: list[npt.NDArray[np.int32]] = []
    spread: list[bytes] = []
    for block in rows_of(text_blocks(path, seen), form, first_line, faults):
        lines.append(block.lines)
        spread.extend(_spread(block))
        held_bytes += len(block.body)
        if held_bytes <= _HELD_BYTES:
            held.append(block)
        else:
            held.clear()
    rows = int(sum(part.size for part in lines))
    spoilt = _judge_faults(faults, rows, len(labels.headings), path.name)
    picks = np.unique(np.linspace(0, len(spread) - 1, _SAMPLE_ROWS).astype(int))
    texts = (spread[pick].decode("utf-8", "replace") for pick in picks)
    sample = tuple(tuple(split_cells(text, form.given_separator)) for text in texts)
    return RawTable(
        source_name=path.name,
        sha256="",
        separator=form.given_separator,
        decimal=find_decimal(sample),
        headings=labels.headings,
        units=labels.units,
        preamble=labels.preamble,
        heading_line=labels.heading_line,
        line_numbers=np.concatenate(lines),
        sample=sample,
        spoilt=spoilt,
        path=path,
        form=form,
        held=tuple(held),
        missing=labels.missing,
        scales=labels.scales,
        day=labels.day,
        kind=labels.kind,
    )


def _head(path: Path) -> tuple[list[tuple[int, str]], bool]:
    """Return the first filled lines with their numbers, and whether there are more.

    Raises:
        MalformedFileError: If a line has more columns than any log.
    """
    found: list[tuple[int, str]] = []
    number = 0
    for block in text_blocks(path):
        for line in BytesIO(block):
            line = line[:-1]
            number += 1
            if not line.strip():
                continue
            if len(found) == HEAD_LINES:
                return found, True
            _refuse_wide(line, path.name, number)
            found.append((number, line.decode("utf-8", "replace")))
    return found, False


def _refuse_wide(line: bytes, name: str, number: int) -> None:
    if len(line) > MOST_COLUMNS and max(map(line.count, _PARTING)) >= MOST_COLUMNS:
        raise MalformedFileError(
            f"{name}, line {number}: more than {MOST_COLUMNS} columns.",
            "Export fewer columns; a log needs about ten.",
        )


def _check_heading(
    rows: HeadingRows,
    name: str,
    numbered: Sequence[tuple[int, str]],
    separator: str,
    more: bool,
    headings_needed: bool,
) -> None:
    """Refuse a file without data rows or without headings."""
    if rows.first_data >= len(numbered):
        if rows.known >= 2 and not more:
            raise EmptyFileError(
                f"{name} has headings but no rows of data.", "Export the flight again."
            )
        raise MalformedFileError(
            f"{name} holds no table of columns with headings.",
            "A log must be delimited text with a heading row, one row a sample.",
        )
    if not rows.headings and headings_needed:
        number, line = numbered[rows.first_data]
        first = split_cells(line, separator)[0]
        raise MalformedFileError(
            f"{name}, line {number}: data ({first!r}) without a heading row above it.",
            "Put a row of headings with units above the data, for instance 'IAS (kt)'; "
            "or name the columns by number in a mapping file.",
        )


def _spread(block: RowBlock) -> list[bytes]:
    """Rows spread evenly over a block, the first and the last among them."""
    stops = block.row_ends()
    last = int(stops[-2]) + 1 if stops.size > 1 else 0
    places = np.linspace(0, last, _SAMPLE_ROWS).astype(int)
    rows = np.unique(np.searchsorted(stops, places))
    starts = np.where(rows > 0, stops[rows - 1] + 1, 0)
    return [
        block.body[start:stop]
        for start, stop in zip(starts.tolist(), stops[rows].tolist(), strict=True)
    ]


def _judge_faults(faults: RowFaults, rows: int, width: int, name: str) -> tuple[str, ...]:
    """Refuse a table with many uneven rows; put a few into words."""
    # a recorder that loses its power leaves its last row unfinished
    cut_off = faults.ragged > 0 and faults.last_ragged_line == faults.last_line and rows > 50
    if faults.first_ragged and faults.ragged - cut_off > SPOILT_SHARE * (rows + faults.ragged):
        number, count = faults.first_ragged
        raise MalformedFileError(
            f"{name}, line {number}: {count} cells where the headings have {width} "
            f"({faults.ragged} such rows).",
            "Every row must have one cell for each heading; export or correct the file again.",
        )
    if not rows:
        raise EmptyFileError(
            f"{name} has headings but no rows of data.", "Export the flight again."
        )
    spoilt = [
        f"line {number}: the headings are repeated, the recorder was restarted"
        for number in faults.repeats[:20]
    ]
    if faults.first_ragged:
        spoilt.append(
            f"{faults.ragged} rows with the wrong number of cells left out, "
            f"first line {faults.first_ragged[0]}"
        )
    if faults.comments:
        spoilt.append(f"{faults.comments} lines of comment between the rows left out")
    return tuple(spoilt)
