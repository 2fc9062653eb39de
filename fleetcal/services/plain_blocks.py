"""A table of any length with columns of known names, read a block of rows at a time.

Any way of writing it is taken: `table_text` tells what parts its cells, `table_headings` what
its headings mean, `table_cells` how its numbers and dates are written. What comes out has exact
headings, numbers in their units and dates as YYYY-MM-DD.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path
from typing import Final

from fleetcal.errors import EmptyFileError, MalformedFileError
from fleetcal.plain_text import unguarded_cell
from fleetcal.services.point_cells import FileRow
from fleetcal.services.table_cells import CellForms, find_cell_forms
from fleetcal.services.table_columns import KnownColumn
from fleetcal.services.table_headings import KnownHeadings, MatchedHeading, understood_words
from fleetcal.services.table_numbers import DoubtfulNumberError
from fleetcal.services.table_text import (
    TextForm,
    find_form,
    look_through,
    not_csv,
    one_line,
    opened_lines,
)

_ROWS_AT_ONCE: Final = 20_000


@dataclass(frozen=True, kw_only=True)
class Block:
    """Some rows of a file, one after another.

    Attributes:
        file: Without its folder.
        headings: Exact ones.
        lines: Where each row ends in the file, counted from 1.
        cells: One list a row, each as long as the headings.
        written: Exact heading -> heading in the file, where it is another.
    """

    file: str
    headings: tuple[str, ...]
    lines: Sequence[int]
    cells: list[list[str]]
    written: Mapping[str, str] = field(default_factory=dict)

    def column(self, heading: str) -> list[str]:
        """Return the stripped cells of a column, empty ones where it is not in the file."""
        found = self.cells_of(heading)
        if found is None:
            return [""] * len(self.cells)
        stripped = {text: unguarded_cell(text.strip()) for text in set(found)}
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
                self.written,
            )
            for line, row in zip(self.lines, self.cells, strict=True)
        ]


@dataclass(frozen=True, kw_only=True)
class PlainBlocks:
    """A file that has been looked through once, to be read block by block.

    Attributes:
        sha256: Of the bytes.
        headings: Exact ones, of the columns that were understood.
        understood: How it was read, for people; empty where it is written as the program does.
    """

    path: Path
    sha256: str
    form: TextForm
    matched: tuple[MatchedHeading, ...]
    cell_forms: CellForms | None = None

    @property
    def name(self) -> str:
        """The file without its folder."""
        return self.path.name

    @property
    def headings(self) -> tuple[str, ...]:
        """Return the exact headings of the columns that were understood."""
        return tuple(m.column.name for m in self.matched)

    @property
    def understood(self) -> str:
        """Return how it was read, for people; empty where nothing about it is unusual."""
        cells = self.cell_forms.words if self.cell_forms else ""
        dialect = ", ".join(part for part in (self.form.words, cells) if part)
        words = understood_words(self.matched)
        if not dialect:
            return words and f"{self.name}: {words}"
        return f"{self.name} ({dialect})" + (f": {words}" if words else "")

    def __iter__(self) -> Iterator[Block]:
        """Yield the rows in blocks, leaving out empty lines and headings that come again.

        Raises:
            DataError: If a row has another number of cells than the headings, a number can be read
                in two ways, or there is no row.
        """
        seen = 0
        for lines, cells in self.raw_blocks():
            block = Block(
                file=self.name,
                headings=self.headings,
                lines=lines,
                cells=self._plain(lines, cells),
                written={m.column.name: m.written for m in self.matched if not m.is_exact},
            )
            seen += len(block.cells)
            if block.cells:
                yield block
        if not seen:
            raise EmptyFileError(f"{self.name}: headings but no rows", "add a row a point")

    def raw_blocks(self) -> Iterator[tuple[Sequence[int], list[list[str]]]]:
        """Yield lines and cells of the matched columns, as they stand in the file."""
        with opened_lines(self.path, self.form.plain) as text:
            for _ in range(0 if self.form.plain else self.form.first_row):
                next(text, None)
            reader = csv.reader(text, delimiter=self.form.separator)
            before = skipped = 0 if self.form.plain else self.form.first_row
            if self.form.plain:
                next(reader)
                before, skipped = reader.line_num, 0
            while cells := self._next_rows(reader):
                lines = _lines_of(before, reader.line_num + skipped, cells)
                before = reader.line_num + skipped
                yield self._filled(lines, cells)

    def _next_rows(self, reader: Iterator[list[str]]) -> list[list[str]]:
        try:
            return list(islice(reader, _ROWS_AT_ONCE))
        except csv.Error as error:
            raise not_csv(self.name, int(getattr(reader, "line_num", 0)), error) from error

    def _filled(
        self, lines: Sequence[int], cells: list[list[str]]
    ) -> tuple[Sequence[int], list[list[str]]]:
        """Return the rows that are not empty, each with a cell a heading."""
        width = len(self.form.headings)
        if self.form.plain and set(map(len, cells)) == {width} and all(map(any, cells)):
            return lines, cells
        kept = [(i, row) for i, row in zip(lines, cells, strict=True) if any(map(str.strip, row))]
        if not self.form.plain:
            kept = [(i, self._named(i, row)) for i, row in kept if not self._is_heading(row)]
            return [line for line, _ in kept], [row for _, row in kept]
        for line, row in kept:
            if len(row) != width:
                raise self._uneven(line, len(row))
        return [line for line, _ in kept], [row for _, row in kept]

    def _uneven(self, line: int, count: int) -> MalformedFileError:
        return MalformedFileError(
            f"{self.name}, line {line}: {count} cells, {len(self.form.headings)} headings",
            "give every row one cell a heading",
        )

    def _is_heading(self, row: Sequence[str]) -> bool:
        return one_line(row) == self.form.headings

    def _named(self, line: int, row: list[str]) -> list[str]:
        """Return the cells that have a heading; empty ones beyond the last may be there or not."""
        places = [m.place for m in self.matched]
        stripped = [cell.strip() for cell in row]
        if len(row) <= max(places):
            raise self._uneven(line, len(row))
        for place, cell in enumerate(stripped):
            if cell and place not in places:
                if place >= len(self.form.headings):
                    raise self._uneven(line, len(row))
                raise MalformedFileError(
                    f"{self.name}, line {line}: {cell!r} in column {place + 1}, which has no "
                    "heading",
                    "name the column or empty its cells",
                )
        return [stripped[place] for place in places]

    def _plain(self, lines: Sequence[int], cells: list[list[str]]) -> list[list[str]]:
        """Return rows with their cells as the program writes them."""
        forms = self.cell_forms
        if forms is None or not any(forms.readers):
            return cells
        columns = []
        for place, matched in enumerate(self.matched):
            column = [row[place].strip() for row in cells]
            try:
                columns.append(forms.plain(place, column))
            except DoubtfulNumberError as doubt:
                line = lines[column.index(str(doubt))]
                raise MalformedFileError(
                    f"{self.name}, line {line}, column {matched.written}: {str(doubt)!r} may have "
                    "a decimal sign or one for thousands",
                    "write numbers without a sign for thousands",
                ) from doubt
        return [list(row) for row in zip(*columns, strict=True)]


def open_blocks(path: Path, columns: Sequence[KnownColumn]) -> PlainBlocks:
    """Look through a table without keeping it.

    Args:
        columns: That may stand in the file, in any order.

    Raises:
        DataError: If the file is missing, empty or not text, a heading is unknown, repeated or can
            mean two columns, or a date can mean two days.
    """
    sha256, plain_text = look_through(path)
    known = KnownHeadings(columns)
    form = find_form(path, known, plain_text)
    where = f"{path.name}, line {form.lines_above + 1}"
    matched = known.match(form.headings, form.units, where)
    blocks = PlainBlocks(path=path, sha256=sha256, form=form, matched=matched)
    lines, first = next(blocks.raw_blocks(), ((), []))
    sample = [[row[place].strip() for row in first] for place in range(len(matched))]
    return replace(blocks, cell_forms=find_cell_forms(matched, sample, path.name, lines))


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
