"""A delimited text file as a table of text: headings, units and rows of equal width."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.errors import DataError, EmptyFileError, MalformedFileError
from fleetcal.flightlog.heading_rows import HeadingRows, find_heading_rows
from fleetcal.flightlog.text_form import decode, find_decimal, find_separator, split_cells

SPOILT_SHARE: Final = 0.02
_SAMPLE_ROWS: Final = 200


@dataclass(frozen=True)
class RawTable:
    """A delimited text file, taken apart but not yet understood.

    Attributes
    ----------
    source_name : str
        File name without folder.
    sha256 : str
        Of the bytes of the file, in hexadecimal.
    separator, decimal : str
        One character each; the separator blank stands for any white space.
        Rows with quotes are held with tabs instead.
    headings, units : tuple of str
        One each for a column; a unit is empty where no row of units is given.
    preamble : tuple of str
        Lines above the headings.
    heading_line : int
        Line of the headings, counted from 1.
    lines : tuple of str
        The data rows.
    line_numbers : ndarray of int, shape (rows,)
        Line of each row in the file.
    sample : tuple of tuples of str
        Cells of rows spread over the whole table.
    spoilt : tuple of str
        What was found wrong with rows that were left out.
    """

    source_name: str
    sha256: str
    separator: str
    decimal: str
    headings: tuple[str, ...]
    units: tuple[str, ...]
    preamble: tuple[str, ...]
    heading_line: int
    lines: tuple[str, ...] = field(repr=False)
    line_numbers: npt.NDArray[np.int64] = field(repr=False)
    sample: tuple[tuple[str, ...], ...] = field(repr=False)
    spoilt: tuple[str, ...] = ()

    @property
    def row_count(self) -> int:
        """Number of data rows."""
        return len(self.lines)


def read_table(path: str | os.PathLike[str]) -> RawTable:
    """Read a delimited text file of any dialect as a table of text.

    Parameters
    ----------
    path : path-like

    Returns
    -------
    RawTable

    Raises
    ------
    DataError
        If the file cannot be opened.
    EmptyFileError
        If there is nothing in it, or headings only.
    NotTextError
        If it is not text.
    MalformedFileError
        If it is not a table, has no headings, or more than 2 % of its rows
        have the wrong number of cells.
    """
    name = Path(path).name
    content = _bytes_of(Path(path))
    text = decode(content, name)
    numbered = [(n, line) for n, line in enumerate(text.split("\n"), 1) if line.strip()]
    lines = [line for _, line in numbered]
    found = find_separator(lines)
    if found is None:
        raise MalformedFileError(
            f"{name} holds no table: no separator splits its lines into columns.",
            "A log must be delimited text with a heading row, one row a sample.",
        )
    separator, width = found
    rows = find_heading_rows(lines, separator, width)
    _check_heading(rows, name, numbered, separator)
    kept, spoilt = _even_rows(numbered[rows.first_data :], rows, separator, name)
    kept, separator = _without_quotes(kept, separator)
    sample = [tuple(split_cells(line, separator)) for _, line in _spread(kept)]
    return RawTable(
        source_name=name,
        sha256=hashlib.sha256(content).hexdigest(),
        separator=separator,
        decimal=find_decimal(sample),
        headings=rows.headings,
        units=rows.units,
        preamble=tuple(lines[: rows.first_heading]),
        heading_line=numbered[rows.first_heading][0],
        lines=tuple(line for _, line in kept),
        line_numbers=np.array([n for n, _ in kept], dtype=np.int64),
        sample=tuple(sample),
        spoilt=spoilt,
    )


def _bytes_of(path: Path) -> bytes:
    """Read a file whole."""
    try:
        return path.read_bytes()
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise DataError(
            f"{path.name} cannot be read: {reason}.", "Check the path and the rights."
        ) from None


def _check_heading(
    rows: HeadingRows, name: str, numbered: Sequence[tuple[int, str]], separator: str
) -> None:
    """Refuse a file without data rows or without headings."""
    if rows.first_data >= len(numbered):
        if rows.known >= 2:
            raise EmptyFileError(
                f"{name} has headings but no rows of data.", "Export the flight again."
            )
        raise MalformedFileError(
            f"{name} holds no table of columns with headings.",
            "A log must be delimited text with a heading row, one row a sample.",
        )
    if not rows.headings:
        number, line = numbered[rows.first_data]
        first = split_cells(line, separator)[0]
        raise MalformedFileError(
            f"{name}, line {number}: data ({first!r}) without a heading row above it.",
            "Put a row of headings with units above the data, for instance 'IAS (kt)'.",
        )


def _without_quotes(
    kept: list[tuple[int, str]], separator: str
) -> tuple[list[tuple[int, str]], str]:
    """Write rows with quotes anew with tabs, so that no stray quote swallows later rows."""
    if not any('"' in line for _, line in kept):
        return kept, separator
    plain = [
        (
            number,
            "\t".join(c.replace('"', "").replace("\t", " ") for c in split_cells(line, separator)),
        )
        for number, line in kept
    ]
    return plain, "\t"


def _spread(kept: Sequence[tuple[int, str]]) -> list[tuple[int, str]]:
    """Rows spread evenly over the table, the first and the last among them."""
    if len(kept) <= _SAMPLE_ROWS:
        return list(kept)
    picks = np.linspace(0, len(kept) - 1, _SAMPLE_ROWS).astype(int)
    return [kept[int(pick)] for pick in picks]


def _even_rows(
    numbered: Sequence[tuple[int, str]], rows: HeadingRows, separator: str, name: str
) -> tuple[list[tuple[int, str]], tuple[str, ...]]:
    """Keep the rows of the right width; few others are left out, many refused."""
    kept: list[tuple[int, str]] = []
    ragged: list[tuple[int, int]] = []
    repeats: list[int] = []
    for number, line in numbered:
        count = _cell_count(line, separator)
        if line in rows.heading_lines:
            repeats.append(number)
        elif rows.fewest_cells <= count <= rows.most_cells:
            kept.append((number, line))
        else:
            ragged.append((number, count))
    spoilt = [f"line {n}: the headings are repeated, the recorder was restarted" for n in repeats]
    # a recorder that loses its power leaves its last row unfinished
    cut_off = bool(ragged) and ragged[-1][0] == numbered[-1][0] and len(kept) > 50
    if len(ragged) - cut_off > SPOILT_SHARE * len(numbered):
        number, count = ragged[0]
        raise MalformedFileError(
            f"{name}, line {number}: {count} cells where the headings have {len(rows.headings)} "
            f"({len(ragged)} such rows).",
            "Every row must have one cell for each heading; export or correct the file again.",
        )
    if ragged:
        spoilt.append(
            f"{len(ragged)} rows with the wrong number of cells left out, first line {ragged[0][0]}"
        )
    if not kept:
        raise EmptyFileError(
            f"{name} has headings but no rows of data.", "Export the flight again."
        )
    return kept, tuple(spoilt)


def _cell_count(line: str, separator: str) -> int:
    """Count cells without splitting, unless quotes hide a separator."""
    if separator == " " or '"' in line:
        return len(split_cells(line, separator))
    return line.count(separator) + 1
