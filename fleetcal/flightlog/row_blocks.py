"""Rows of a table in blocks of bytes: which lines are whole rows, found without splitting them.

Lines are counted as arrays of bytes and never split in Python. Up to 128 MB of rows are
held, with where their cells end, about half as much again; beyond that the file is read a second
time, so memory goes with the columns used and not with the file: of a log of 1 GB, 7 columns
used, the peak is 1174 MiB, 0.61 of that of `pandas.read_csv`
(`python -m tests.bench.reading --large`; the channels alone hold 466).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.flightlog.text_form import split_cells

_NEWLINE: Final = 10
_TAB: Final = 9
_BLANK: Final = 32
_QUOTE: Final = 34
_COMMENT: Final = b"#%!"

Bytes = npt.NDArray[np.uint8]
Indices = npt.NDArray[np.intp]
CellEnds = npt.NDArray[np.int32]


@dataclass(frozen=True, kw_only=True)
class RowForm:
    """What a whole row of a table looks like.

    Attributes:
        separator: As in the file; a blank stands for any white space.
        quoted: Whether cells stand in quotes; such rows are handed on with tabs.
        heading_lines: Heading rows as written, to know them when they are repeated.
    """

    separator: str
    quoted: bool
    fewest_cells: int
    most_cells: int
    heading_lines: frozenset[bytes]

    @property
    def given_separator(self) -> str:
        """Separator of the rows as they are handed on."""
        return "\t" if self.quoted else self.separator


@dataclass(kw_only=True)
class RowFaults:
    """Lines that are no rows, gathered block by block.

    Attributes:
        ragged: Lines with the wrong number of cells.
        first_ragged: Line and its number of cells.
        repeats: Lines that repeat the headings.
    """

    ragged: int = 0
    first_ragged: tuple[int, int] | None = None
    last_ragged_line: int = 0
    last_line: int = 0
    repeats: list[int] = field(default_factory=list)
    comments: int = 0


@dataclass(frozen=True)
class RowBlock:
    """Whole rows of one block of a file.

    Attributes:
        body: The rows, each ended by a line feed.
        lines (rows,): Line of each row in the file, counted from 1.
        ends (cells, rows): Where the cells end, if that was found on the way.
    """

    body: bytes
    lines: npt.NDArray[np.int32]
    ends: CellEnds | None = None

    def row_ends(self) -> Indices:
        """Return the place of the line feed after each row."""
        if self.ends is None:
            return _line_ends(np.frombuffer(self.body, dtype=np.uint8))
        return np.asarray(self.ends[-1], dtype=np.intp)


def rows_of(
    blocks: Iterator[bytes], form: RowForm, first_line: int, faults: RowFaults
) -> Iterator[RowBlock]:
    """Pick the whole rows out of blocks of lines.

    Args:
        blocks: Whole lines, from the start of the file.
        first_line: Line of the first row of data, counted from 1.
        faults: Is added to.
    """
    line = 1
    for block in blocks:
        cell_ends = _plain_rows(block, form) if line >= first_line else None
        if cell_ends is not None:
            rows = cell_ends.shape[1]
            faults.last_line = line + rows - 1
            yield RowBlock(block, np.arange(line, line + rows, dtype=np.int32), cell_ends)
            line += rows
            continue
        ends = _line_ends(np.frombuffer(block, dtype=np.uint8))
        skip = first_line - line
        number = line
        line += ends.size
        if skip >= ends.size:
            continue
        if skip > 0:
            cut = int(ends[skip - 1]) + 1
            block, ends = block[cut:], ends[skip:] - cut
            number = first_line
        found = _block_rows(block, ends, form, number, faults)
        if found.lines.size:
            yield found


def _plain_rows(block: bytes, form: RowForm) -> CellEnds | None:
    """Find the cells of a block in which every line is surely a row; None for any other."""
    if form.fewest_cells != form.most_cells or form.quoted or b'"' in block:
        return None
    ends = even_ends(block, form)
    if ends is None:
        return None
    starts, lengths = _from_ends(ends[-1])
    first_letters = np.frombuffer(block, dtype=np.uint8)[starts]
    if any(np.any(first_letters == mark) for mark in _COMMENT):
        return None
    if any(np.any(lengths == len(line)) and line in block for line in form.heading_lines):
        return None
    return ends


def even_ends(block: bytes, form: RowForm) -> CellEnds | None:
    """Find where the cells of a block end.

    Args:
        block: Whole lines, each ended by a line feed.

    Returns:
        Shape (cells, rows): Place of the separator or line feed after each cell; None where white
        space separates, or the rows are not all alike.
    """
    if form.given_separator == " ":
        return None
    written = np.frombuffer(block, dtype=np.uint8)
    parting = written == _NEWLINE
    rows = int(np.count_nonzero(parting))
    parting |= written == ord(form.given_separator)
    ends = np.flatnonzero(parting)
    cells, over = divmod(ends.size, rows)
    if over or not form.fewest_cells <= cells <= form.most_cells:
        return None
    by_column = np.ascontiguousarray(ends.reshape(rows, cells).T, dtype=np.int32)
    # there are as many line feeds as rows: if each stands last, none stands elsewhere
    return by_column if np.all(written[by_column[-1]] == _NEWLINE) else None


def _block_rows(
    block: bytes, ends: Indices, form: RowForm, number: int, faults: RowFaults
) -> RowBlock:
    """Pick the whole rows out of one block that begins at a line's start."""
    written = np.frombuffer(block, dtype=np.uint8)
    starts, lengths = _from_ends(ends)
    raw, raw_starts, raw_lengths = block, starts, lengths
    if form.quoted or b'"' in block:
        block = without_quotes(block, form.separator, form.given_separator)
        written = np.frombuffer(block, dtype=np.uint8)
        starts, lengths = _line_places(written)
    cells = _cell_counts(written, starts, form)
    lines = np.arange(number, number + starts.size, dtype=np.int32)
    good = (cells >= form.fewest_cells) & (cells <= form.most_cells) & (lengths > 0)
    special = np.isin(written[starts], np.frombuffer(_COMMENT, dtype=np.uint8))
    for heading in form.heading_lines:
        special |= raw_lengths == len(heading)
    repeats, comments = _special_lines(raw, raw_starts, raw_lengths, special, form)
    good[repeats] = False
    good[comments] = False
    faults.repeats.extend(lines[repeats].tolist())
    faults.comments += len(comments)
    _note_ragged(
        block,
        starts,
        lengths,
        cells=cells,
        good=good,
        known=[*repeats, *comments],
        lines=lines,
        faults=faults,
    )
    if good.all():
        return RowBlock(block, lines)
    keep = np.repeat(good, np.diff(np.append(starts, written.size)))
    return RowBlock(written[keep].tobytes(), lines[good])


def _line_places(written: Bytes) -> tuple[Indices, Indices]:
    """Return start and length, without its end, of every line."""
    return _from_ends(_line_ends(written))


def _line_ends(written: Bytes) -> Indices:
    return np.flatnonzero(written == _NEWLINE)


def _from_ends(ends: Indices) -> tuple[Indices, Indices]:
    starts = np.zeros_like(ends)
    starts[1:] = ends[:-1] + 1
    return starts, ends - starts


def _cell_counts(written: Bytes, starts: Indices, form: RowForm) -> Indices:
    """Count the cells of every line; lines that make up the right sum are taken for even.

    Should a long row hide a short one in the sum, `uneven_rows` finds both, as
    the reader of cells notices a cell too many.
    """
    if form.given_separator != " " and form.fewest_cells == form.most_cells:
        expected = starts.size * (form.fewest_cells - 1)
        if np.count_nonzero(written == ord(form.given_separator)) == expected:
            return np.broadcast_to(np.intp(form.fewest_cells), starts.shape)
    return _exact_counts(written, starts, form.given_separator)


def uneven_rows(body: bytes, form: RowForm) -> npt.NDArray[np.bool_]:
    """Tell which rows have another number of cells than they should, one by one.

    Args:
        body: Whole rows, as they were handed on.

    Returns:
        Shape (rows,).
    """
    written = np.frombuffer(body, dtype=np.uint8)
    starts, _ = _line_places(written)
    cells = _exact_counts(written, starts, form.given_separator)
    return (cells < form.fewest_cells) | (cells > form.most_cells)


def _exact_counts(written: Bytes, starts: Indices, separator: str) -> Indices:
    """Count the cells of every line."""
    if separator == " ":
        filled = (written != _BLANK) & (written != _TAB) & (written != _NEWLINE)
        begins = filled.copy()
        begins[1:] &= ~filled[:-1]
        places = np.flatnonzero(begins)
        return np.diff(np.searchsorted(places, np.append(starts, written.size)))
    places = np.flatnonzero(written == ord(separator))
    return np.diff(np.searchsorted(places, np.append(starts, written.size))) + 1


def _special_lines(
    block: bytes,
    starts: Indices,
    lengths: Indices,
    suspect: npt.NDArray[np.bool_],
    form: RowForm,
) -> tuple[list[int], list[int]]:
    """Tell which of some suspect lines repeat the headings or are comments."""
    repeats, comments = [], []
    for index in np.flatnonzero(suspect).tolist():
        text = block[starts[index] : starts[index] + lengths[index]]
        if text in form.heading_lines:
            repeats.append(index)
        elif text[:1] and text[:1] in _COMMENT:
            comments.append(index)
    return repeats, comments


def _note_ragged(
    block: bytes,
    starts: Indices,
    lengths: Indices,
    cells: Indices,
    good: npt.NDArray[np.bool_],
    known: list[int],
    lines: npt.NDArray[np.int32],
    faults: RowFaults,
) -> None:
    """Note the lines that hold something but the wrong number of cells."""
    if lengths.any():
        faults.last_line = int(lines[np.flatnonzero(lengths)[-1]])
    if good.all():
        return
    bad = ~good & (lengths > 0)
    bad[known] = False
    for index in np.flatnonzero(bad).tolist():
        text = block[starts[index] : starts[index] + lengths[index]]
        if not text.strip():
            continue
        faults.ragged += 1
        faults.last_ragged_line = int(lines[index])
        if faults.first_ragged is None:
            faults.first_ragged = (int(lines[index]), int(cells[index]))


def without_quotes(block: bytes, separator: str, given: str) -> bytes:
    r"""Take the quotes off the cells of some rows.

    Args:
        block: Whole lines.
        separator: As in the file.
        given: What shall stand between the cells afterwards; within a cell it becomes a blank.

    Returns:
        As many lines; a stray quote swallows no more than its own row.
    """
    written = np.frombuffer(block, dtype=np.uint8)
    starts, _ = _line_places(written)
    quotes = np.flatnonzero(written == _QUOTE)
    counts = np.diff(np.searchsorted(quotes, np.append(starts, written.size)))
    if separator == " " or np.any(counts % 2):
        return _without_quotes_by_line(block, separator, given)
    inside = (np.cumsum(written == _QUOTE) & 1).astype(bool)
    plain = written.copy()
    plain[inside & (written == ord(given))] = _BLANK
    plain[~inside & (written == ord(separator))] = ord(given)
    return bytes(plain[written != _QUOTE].tobytes())


def _without_quotes_by_line(block: bytes, separator: str, given: str) -> bytes:
    """Take the quotes off line by line; what a quote hides is kept in its cell."""
    lines = []
    for line in block.decode("utf-8", "replace").split("\n")[:-1]:
        if '"' in line or given != separator:
            cells = split_cells(line, separator)
            line = given.join(cell.replace('"', "").replace(given, " ") for cell in cells)
        lines.append(line)
    return ("\n".join(lines) + "\n").encode()
