"""The text of a table that people give: its bytes, its lines, and what parts its cells.

A plain file, UTF-8 with commas and nothing but exact headings, is read as it stands. Any
other goes through the reader of logs, which knows UTF-16, Windows code page 1252 and packed
files.
"""

from __future__ import annotations

import codecs
import csv
import hashlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Final

from fleetcal.errors import DataError, EmptyFileError, MalformedFileError, NotTextError
from fleetcal.flightlog.file_bytes import text_blocks, wide_coding
from fleetcal.flightlog.text_form import is_value
from fleetcal.flightlog.unit_words import is_unit
from fleetcal.plain_file import opened
from fleetcal.services.table_headings import KnownHeadings

_BYTES_AT_ONCE: Final = 1 << 20
_HEAD_LINES: Final = 40
_AS_TEXT: Final = "save it as CSV in UTF-8"
_NO_CELL: Final = " \t\r\n,;|\"'"
_SEPARATORS: Final = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}


@dataclass(frozen=True, kw_only=True)
class TextForm:
    """How the text of a table is taken apart.

    Attributes:
        plain: UTF-8 with commas and exact headings only.
        separator: Between cells.
        lines_above: Lines above the headings.
        headings, units: Stripped; units empty without a row of units.
        first_row: Lines up to the first row of data.
    """

    plain: bool
    separator: str
    lines_above: int
    headings: tuple[str, ...]
    units: tuple[str, ...]
    first_row: int

    @property
    def words(self) -> str:
        """What is unusual about it, for people; empty if nothing is."""
        words = [] if self.separator == "," else [_SEPARATORS[self.separator]]
        if self.lines_above:
            words.append(f"headings in line {self.lines_above + 1}")
        return ", ".join(words)


@contextmanager
def opened_lines(path: Path, plain: bool) -> Iterator[Iterator[str]]:
    """Open a file as lines of text, each with its end."""
    if plain:
        with path.open(encoding="utf-8-sig", newline="") as text:
            yield text
        return
    blocks = text_blocks(path)
    yield (
        f"{line}\n"
        for block in blocks
        for line in block.decode("utf-8", "replace").split("\n")[:-1]
    )


def find_form(path: Path, known: KnownHeadings, plain_text: bool) -> TextForm:
    """Find headings and separator of a table.

    Args:
        plain_text: Whether the file is text in UTF-8 and not packed.

    Raises:
        DataError: If the file is not text.
        MalformedFileError: If its first line is no row of a table.
    """
    if plain_text:
        with opened_lines(path, plain=True) as lines:
            first = _cells(path.name, lines, ",", 1)
        if len(first) == 1 and known.are_exact(first[0]):
            return TextForm(
                plain=True,
                separator=",",
                lines_above=0,
                headings=tuple(first[0]),
                units=(),
                first_row=1,
            )
    with opened_lines(path, plain=False) as lines:
        head = list(islice(lines, _HEAD_LINES))
    best: tuple[int, TextForm] | None = None
    for separator in _SEPARATORS:
        rows = _cells(path.name, iter(head), separator, len(head))
        for number, cells in enumerate(rows):
            count = known.count(cell for cell in cells if not is_value(cell))
            if count and (best is None or count > best[0]):
                best = (count, _form(separator, rows, number))
    return best[1] if best else _unrecognised(path.name, head)


def _cells(name: str, lines: Iterator[str], separator: str, most: int) -> list[list[str]]:
    """Return the stripped cells of some lines."""
    reader = csv.reader(lines, delimiter=separator)
    rows: list[list[str]] = []
    try:
        for row in islice(reader, most):
            rows += [[]] * (reader.line_num - len(rows) - 1)  # a cell has line breaks in it
            rows.append([cell.strip() for cell in row])
    except csv.Error as error:
        if separator != ",":
            return rows
        raise not_csv(name, reader.line_num, error) from error
    return rows


def _form(separator: str, rows: Sequence[Sequence[str]], number: int) -> TextForm:
    headings = one_line(rows[number])
    below = rows[number + 1] if number + 1 < len(rows) else ()
    filled = [cell for cell in below if cell]
    has_units = bool(filled) and all(is_unit(cell.strip("()[]")) for cell in filled)
    units = tuple([*below, *[""] * len(headings)][: len(headings)]) if has_units else ()
    return TextForm(
        plain=False,
        separator=separator,
        lines_above=number,
        headings=headings,
        units=units,
        first_row=number + 1 + has_units,
    )


def one_line(cells: Sequence[str]) -> tuple[str, ...]:
    """Return cells without white space around them and line breaks in them."""
    return tuple(" ".join(cell.split()) for cell in cells)


def _unrecognised(name: str, head: Sequence[str]) -> TextForm:
    """Return the form of a table with no heading that is known, to complain of them."""
    rows = [_cells(name, iter(head), separator, len(head)) for separator in _SEPARATORS]
    if not "".join(head).strip(_NO_CELL):
        raise EmptyFileError(f"{name}: the file is empty", "give a CSV file with headings")
    widest = max(rows, key=lambda r: len(next(filter(any, r), ())))
    number = next(i for i, cells in enumerate(widest) if any(cells))
    return _form(",", widest, number)


def look_through(path: Path) -> tuple[str, bool]:
    """Read a file once.

    Returns:
        (sha256, plain): Of the bytes, and whether they are text in UTF-8.

    Raises:
        DataError: If the file is missing, empty or not text.
    """
    digest, decoder, filled = hashlib.sha256(), codecs.getincrementaldecoder("utf-8")(), False
    zeros, head, plain = False, b"", True
    try:
        with opened(path) as raw:
            while part := raw.read(_BYTES_AT_ONCE):
                head = head or part
                digest.update(part)
                zeros = zeros or b"\0" in part
                filled = filled or bool(part.strip())
                plain = plain and _decodes(decoder, part)
            plain = plain and _decodes(decoder, b"", final=True)
    except OSError as error:
        raise DataError(f"{path.name}: {error.strerror}", "check the path") from error
    if not filled:
        raise EmptyFileError(f"{path.name}: the file is empty", "give a CSV file with headings")
    if not plain or zeros:
        _refuse_what_is_no_text(path)
    if zeros and plain and wide_coding(head) is None:
        raise NotTextError(f"{path.name}: not a text file", _AS_TEXT)
    return digest.hexdigest(), plain and not zeros


def _decodes(decoder: codecs.IncrementalDecoder, part: bytes, final: bool = False) -> bool:
    try:
        decoder.decode(part, final=final)
    except UnicodeDecodeError:
        return False
    return True


def _refuse_what_is_no_text(path: Path) -> None:
    """Let the reader of logs look at the start, and word its refusal for a table."""
    try:
        next(text_blocks(path), b"")
    except NotTextError as error:
        what = error.message.removesuffix(".")
        raise NotTextError(what, "save it as CSV, then give that file") from error


def not_csv(name: str, line: int, error: csv.Error) -> MalformedFileError:
    """Return the error for text that is no CSV."""
    return MalformedFileError(f"{name}, line {line}: {error}", "save the file as plain CSV")
