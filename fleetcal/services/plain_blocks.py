"""A plain CSV file of any length with columns of known names, read a block of rows at a time."""

from __future__ import annotations

import codecs
import csv
import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Final

from fleetcal.errors import DataError, EmptyFileError, MalformedFileError, NotTextError
from fleetcal.services.point_cells import FileRow

_ROWS_AT_ONCE: Final = 20_000
_BYTES_AT_ONCE: Final = 1 << 20
_AS_TEXT: Final = "save it as CSV in UTF-8"


@dataclass(frozen=True)
class Block:
    """Some rows of a file, one after another.

    Attributes:
        file: Without its folder.
        lines: Where each row ends in the file, counted from 1.
        cells: One list a row, each as long as the headings.
    """

    file: str
    headings: tuple[str, ...]
    lines: Sequence[int]
    cells: list[list[str]]

    def column(self, heading: str) -> list[str]:
        """Return the stripped cells of a column, empty ones where it is not in the file."""
        found = self.cells_of(heading)
        if found is None:
            return [""] * len(self.cells)
        stripped = {text: text.strip() for text in set(found)}
        if all(text == short for text, short in stripped.items()):
            return found
        return [stripped[text] for text in found]

    def cells_of(self, heading: str) -> list[str] | None:
        """Return the cells of a column as they stand, None where it is not in the file."""
        if heading not in self.headings:
            return None
        place = self.headings.index(heading)
        return [row[place] for row in self.cells]

    def rows(self) -> list[FileRow]:
        """Return the rows one by one, for whoever must complain of a cell."""
        return [
            FileRow(
                self.file,
                line,
                dict(zip(self.headings, (cell.strip() for cell in row), strict=True)),
            )
            for line, row in zip(self.lines, self.cells, strict=True)
        ]


@dataclass(frozen=True)
class PlainBlocks:
    """A file that has been looked through once, to be read block by block.

    Attributes:
        sha256: Of the bytes.
    """

    path: Path
    sha256: str
    headings: tuple[str, ...]

    @property
    def name(self) -> str:
        """The file without its folder."""
        return self.path.name

    def __iter__(self) -> Iterator[Block]:
        """Yield the rows in blocks, leaving out empty lines.

        Raises:
            DataError: If a row has another number of cells than the headings, or there is no row.
        """
        seen = 0
        with self.path.open(encoding="utf-8-sig", newline="") as text:
            reader = csv.reader(text)
            next(reader)
            before = reader.line_num
            while cells := self._next_rows(reader):
                lines = _lines_of(before, reader.line_num, cells)
                before = reader.line_num
                block = Block(self.name, self.headings, *self._filled(lines, cells))
                seen += len(block.cells)
                if block.cells:
                    yield block
        if not seen:
            raise EmptyFileError(f"{self.name}: headings but no rows", "add a row a point")

    def _next_rows(self, reader: Iterator[list[str]]) -> list[list[str]]:
        try:
            return list(islice(reader, _ROWS_AT_ONCE))
        except csv.Error as error:
            raise _not_csv(self.name, reader, error) from error

    def _filled(
        self, lines: Sequence[int], cells: list[list[str]]
    ) -> tuple[Sequence[int], list[list[str]]]:
        """Return the rows that are not empty, each with a cell a heading."""
        width = len(self.headings)
        if set(map(len, cells)) == {width} and all(map(any, cells)):
            return lines, cells
        kept = [(i, row) for i, row in zip(lines, cells, strict=True) if any(map(str.strip, row))]
        for line, row in kept:
            if len(row) != width:
                raise MalformedFileError(
                    f"{self.name}, line {line}: {len(row)} cells, {width} headings",
                    "give every row one cell a heading",
                )
        return [line for line, _ in kept], [row for _, row in kept]


def open_blocks(path: Path, columns: Sequence[str]) -> PlainBlocks:
    """Look through a CSV file without keeping it.

    Args:
        columns: Headings that may stand in the file, in any order.

    Raises:
        DataError: If the file is missing, empty or not text, or a heading is unknown or repeated.
    """
    sha256 = _looked_through(path)
    with path.open(encoding="utf-8-sig", newline="") as text:
        reader = csv.reader(text)
        try:
            first = next(reader)
        except csv.Error as error:
            raise _not_csv(path.name, reader, error) from error
    return PlainBlocks(path, sha256, known_headings(path.name, first, columns))


def known_headings(name: str, cells: Sequence[str], columns: Sequence[str]) -> tuple[str, ...]:
    """Return the headings of a file.

    Args:
        name: Of the file.
        cells: Its first line.
        columns: Headings that may stand there.

    Raises:
        MalformedFileError: If one is unknown or repeated.
    """
    headings = tuple(cell.strip() for cell in cells)
    for heading in headings:
        if heading not in columns or headings.count(heading) > 1:
            raise MalformedFileError(
                f"{name}, line 1: unknown or repeated column {heading!r}",
                f"columns are {', '.join(columns)}",
            )
    return headings


def _looked_through(path: Path) -> str:
    """Return the SHA-256 of a file that is text and not empty."""
    digest, decoder, filled = hashlib.sha256(), codecs.getincrementaldecoder("utf-8")(), False
    try:
        with path.open("rb") as raw:
            while part := raw.read(_BYTES_AT_ONCE):
                digest.update(part)
                if b"\0" in part:
                    raise NotTextError(f"{path.name}: not a text file", _AS_TEXT)
                decoder.decode(part)
                filled = filled or bool(part.strip())
            decoder.decode(b"", final=True)
    except OSError as error:
        raise DataError(f"{path.name}: {error.strerror}", "check the path") from error
    except UnicodeDecodeError as error:
        raise NotTextError(f"{path.name}: not a text file in UTF-8", _AS_TEXT) from error
    if not filled:
        raise EmptyFileError(f"{path.name}: the file is empty", "give a CSV file with headings")
    return digest.hexdigest()


def _lines_of(before: int, last: int, cells: list[list[str]]) -> Sequence[int]:
    """Return the line in which each row ends."""
    if last - before == len(cells):
        return range(before + 1, last + 1)
    found = []  # some cells have line breaks in them
    for row in cells:
        before += 1 + sum(map(_breaks, row))
        found.append(before)
    return found


def _breaks(cell: str) -> int:
    return cell.count("\n") + cell.count("\r") - cell.count("\r\n")


def _not_csv(name: str, reader: object, error: csv.Error) -> MalformedFileError:
    line = int(getattr(reader, "line_num", 0))
    return MalformedFileError(f"{name}, line {line}: {error}", "save the file as plain CSV")
