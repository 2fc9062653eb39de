"""A plain CSV file with columns of known names, read whole and complained of by line and column."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from fleetcal.errors import DataError, EmptyFileError, MalformedFileError, NotTextError
from fleetcal.services.point_cells import PointLine


@dataclass(frozen=True)
class PlainTable:
    """A file as it was read.

    Attributes
    ----------
    name : str
        Without its folder.
    sha256 : str
        Of the bytes.
    headings : tuple of str
    rows : tuple of PointLine
        At least one.
    """

    name: str
    sha256: str
    headings: tuple[str, ...]
    rows: tuple[PointLine, ...]


def read_plain_table(path: Path, columns: Sequence[str]) -> PlainTable:
    """Read a CSV file.

    Parameters
    ----------
    path : Path
    columns : sequence of str
        Headings that may stand in the file, in any order.

    Returns
    -------
    PlainTable

    Raises
    ------
    DataError
        If the file is missing, empty or not text, a heading is unknown or
        repeated, or a row has another number of cells.
    """
    content = _content(path)
    reader = csv.reader(io.StringIO(_text(path, content), newline=""))
    lines = _lines(path.name, reader)
    _, first = next(lines)
    headings = tuple(cell.strip() for cell in first)
    for heading in headings:
        if heading not in columns or headings.count(heading) > 1:
            raise MalformedFileError(
                f"{path.name}, line 1: unknown or repeated column {heading!r}",
                f"columns are {', '.join(columns)}",
            )
    rows = tuple(_row(path.name, line, headings, cells) for line, cells in lines if any(cells))
    if not rows:
        raise EmptyFileError(f"{path.name}: headings but no rows", "add a row a point")
    return PlainTable(path.name, hashlib.sha256(content).hexdigest(), headings, rows)


def _content(path: Path) -> bytes:
    try:
        content = path.read_bytes()
    except OSError as error:
        raise DataError(f"{path.name}: {error.strerror}", "check the path") from error
    if not content.strip():
        raise EmptyFileError(f"{path.name}: the file is empty", "give a CSV file with headings")
    return content


def _text(path: Path, content: bytes) -> str:
    hint = "save it as CSV in UTF-8"
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise NotTextError(f"{path.name}: not a text file in UTF-8", hint) from error
    if "\0" in text:
        raise NotTextError(f"{path.name}: not a text file", hint)
    return text


def _lines(name: str, reader: Iterator[list[str]]) -> Iterator[tuple[int, list[str]]]:
    """Yield number and stripped cells of each line."""
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise MalformedFileError(
                f"{name}, line {_number(reader)}: {error}", "save the file as plain CSV"
            ) from error
        yield _number(reader), [cell.strip() for cell in cells]


def _number(reader: Iterator[list[str]]) -> int:
    return int(getattr(reader, "line_num", 0))


def _row(name: str, line: int, headings: Sequence[str], cells: list[str]) -> PointLine:
    if len(cells) != len(headings):
        raise MalformedFileError(
            f"{name}, line {line}: {len(cells)} cells, {len(headings)} headings",
            "give every row one cell a heading",
        )
    return PointLine(name, line, dict(zip(headings, cells, strict=True)))
