"""Cells cut out of a block of rows by the places of its separators, and read as plain numbers.

Nearly every cell of a log is a short decimal number, and nearly every block has rows that are all
alike. There the places of the separators are a rectangle, a column of text stays one array of
bytes, and `plain_numbers` reads all columns of numbers at once. Whatever is written otherwise is
left to the general reader (`cells`), cell by cell or block by block; both find the same numbers and
faults (`tests/flightlog/test_both_ways_of_reading.py`). Blocks of 1 MiB are as good as larger
ones within 5 %; below 512 KiB the time goes into calls.

Measured on one processor of a busy machine, 100 MB of a log of 14 columns of which 7 are read, and
the same log with decimal commas and empty cells (as ``python -m tests.bench.reading``, readers in
turn): 0.94 to 1.14 and 0.98 to 1.09 times the processor time of `pandas.read_csv` of the same
columns. Looking for the separators twice, in blocks of 4 MiB, took 1.01 to 1.13 and 1.07 to 1.19 in
the same runs, and 1.14 and 1.28 when the machine was less busy. Of 0.57 s, the hash takes 0.06,
finding separators 0.1, the other work on lines 0.09, numbers 0.13, times 0.05, and what the columns
tell of the flight 0.06.

Readers of the registry on the same two files, one thread, no hash and no judgement:

| reader | processor time, s | peak above start, MiB | adds, MB | tells of a bad cell |
| --- | --- | --- | --- | --- |
| pandas 3.1 | 0.5, 0.7 | 190 | nothing | the text |
| pandas 3.1 with pyarrow's texts | 0.22, 0.41 | 130 | 170 | the text |
| polars 2.1 | 0.22, 0.28 | 200 | 180 | text, column, offset in bytes |
| pyarrow 26 | 0.34, 0.37 | 250 to 280 | 170 | text, column, row without blank lines |
| duckdb 2.0 | 0.53, 0.58 | 215 to 260 | 70 | text, column, line; of the first only |

Cutting and reading takes 0.3 s here: the fastest would save a seventh of the whole, for
180 MB more to install and a second reader to agree with; none names all faults that are named here.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt

from fleetcal.flightlog.plain_numbers import (
    LETTERS,
    MARGIN,
    Floats,
    Mask,
    Places,
    WordsBefore,
    plain_numbers,
)
from fleetcal.flightlog.row_blocks import CellEnds, RowBlock, RowForm, even_ends

#: Cells of a column as bytes, stripped; longer ones than this are cut.
LONGEST: Final = 40
TEXT_TYPE: Final = f"S{LONGEST}"
Texts: TypeAlias = npt.NDArray[np.bytes_]
Letters: TypeAlias = npt.NDArray[np.uint8]

_BLANK: Final = 32
_MINUS: Final = 45
# texts are as many letters wide as some words
_EVEN: Final = 8


class CutBlock:
    """Some rows that all have as many cells.

    Attributes:
        ends (cells, rows): Place of the separator or line feed after each cell.
    """

    def __init__(self, written: Letters, ends: CellEnds) -> None:
        self.ends = ends
        self._written = written[MARGIN:]
        self._words = WordsBefore(written)

    @property
    def rows(self) -> int:
        """Number of rows."""
        return int(self.ends.shape[1])

    def _cells(self, *indices: int) -> tuple[Places, Places]:
        """Return end and length of the cells of some columns, each of shape (columns, rows)."""
        ends = np.empty((len(indices), self.rows), dtype=np.intp)
        lengths = np.empty_like(ends)
        for row, index in enumerate(indices):
            ends[row] = self.ends[index]
            if index:
                np.subtract(ends[row], self.ends[index - 1], out=lengths[row])
            else:  # the cell before a row's first is the last of the row above
                lengths[row, 0] = ends[row, 0] + 1
                np.subtract(ends[row, 1:], self.ends[-1, :-1], out=lengths[row, 1:])
        lengths -= 1
        return ends, lengths

    def texts(self, index: int, rows: Mask | None = None) -> Texts:
        """Return the cells of a column, or of some of its rows, without white space around."""
        (ends,), (lengths,) = self._cells(index)
        if rows is not None:
            ends, lengths = ends[rows], lengths[rows]
        starts = ends - lengths
        lengths = np.minimum(lengths, LONGEST)
        shortest, longest = int(lengths.min()), max(int(lengths.max()), 1)
        width = -(-longest // _EVEN) * _EVEN
        written = self._written
        if int(starts[-1]) + width > written.size:
            written = np.append(written, np.zeros(width, dtype=np.uint8))
        windows: Texts = np.ndarray(
            (written.size - width + 1,), f"S{width}", written.data, strides=(1,)
        )
        cells = windows[starts]
        letters = cells.view(np.uint8).reshape(cells.size, width)
        if shortest == longest:
            letters[:, longest:] = 0
            last = letters[:, longest - 1]
        else:
            letters[np.arange(width) >= lengths[:, None]] = 0
            last = letters[np.arange(lengths.size), np.maximum(lengths - 1, 0)]
        blank = _is_blank(letters[:, 0]).any() or _is_blank(last).any()
        return np.char.strip(cells) if blank else cells

    def numbers(self, indices: Sequence[int], decimal: str) -> tuple[Floats, Mask | None]:
        """Read columns of plain numbers: digits, perhaps a point among them and a minus before.

        Args:
            decimal: What stands for the point.

        Returns:
            Shape (columns, rows): NaN where the cell is empty; and whether a cell is something
            else, None if none is.
        """
        ends, lengths = self._cells(*indices)
        long = lengths.max(axis=1) > LETTERS
        if long.all() or not long.any():
            return self._numbers(ends, lengths, decimal)
        values, odd = np.empty(ends.shape), np.zeros(ends.shape, dtype=bool)
        for some in (long, ~long):
            values[some], found = self._numbers(ends[some], lengths[some], decimal)
            if found is not None:
                odd[some] = found
        return values, odd

    def _numbers(self, ends: Places, lengths: Places, decimal: str) -> tuple[Floats, Mask | None]:
        """Read cells of any shape; those with a minus as shorter cells behind it."""
        shape = ends.shape
        ends, lengths = ends.reshape(-1), lengths.reshape(-1)
        values, odd = plain_numbers(self._words, ends, lengths, decimal)
        if odd is None:
            return values.reshape(shape), None
        rows = np.flatnonzero(odd)
        rows = rows[self._written[ends[rows] - lengths[rows]] == _MINUS]
        rows = rows[lengths[rows] > 1]
        if rows.size:
            size, still = plain_numbers(self._words, ends[rows], lengths[rows] - 1, decimal)
            values[rows] = -size
            odd[rows] = False if still is None else still
        return values.reshape(shape), odd.reshape(shape) if odd.any() else None


def _is_blank(letters: Letters) -> Mask:
    return (letters <= _BLANK) & (letters > 0)


def cut_block(block: RowBlock, form: RowForm) -> CutBlock | None:
    """Find the cells of a block; None where white space separates, or its rows are not alike."""
    ends = even_ends(block.body, form) if block.ends is None else block.ends
    if ends is None:
        return None
    return CutBlock(np.frombuffer(b"\x00" * MARGIN + block.body, np.uint8), ends)
