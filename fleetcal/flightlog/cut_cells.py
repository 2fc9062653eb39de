"""Cells cut out of a block of rows by the places of its separators, and read as plain numbers.

Nearly every cell of a log is a short decimal number, and nearly every block has rows that are all
alike. There the places of the separators are a rectangle, a column of text stays one array of
bytes, and numbers are read digit by digit for all rows at once. A decimal number of up to 15
digits becomes an integer that a float holds exactly, divided by an exact power of ten: the
nearest float there is, as any careful reader finds it. Whatever is written otherwise is left to
the general reader (`cells`), cell by cell or block by block.

Measured on one processor, 100 MB of a log of 14 columns of which 7 are read
(``python -m tests.bench.reading``): 1.5 to 1.7 times the processor time of `pandas.read_csv` when
all blocks went through that reader, a third of it spent on making an object of every time of day
and on beginning the reader anew for each block; 1.0 to 1.3 times now, and 1.4 to 1.8 with decimal
commas and empty cells, which are bridged afterwards. Readers of the registry were tried: polars
2.1 and pyarrow 26 parse the columns in 0.3 times pandas' time, but install 180 and 170 MB and tell
no lines of cells that they cannot read. They would save little: hashing, judging lines and times,
and looking for contradictions are two thirds of the reading now.
"""

from __future__ import annotations

from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt

from fleetcal.flightlog.row_blocks import RowBlock, RowForm

#: Cells of a column as bytes, stripped; longer ones than this are cut.
LONGEST: Final = 40
TEXT_TYPE: Final = f"S{LONGEST}"
Texts: TypeAlias = npt.NDArray[np.bytes_]
Floats: TypeAlias = npt.NDArray[np.float64]
Mask: TypeAlias = npt.NDArray[np.bool_]
Places: TypeAlias = npt.NDArray[np.intp]

_NEWLINE: Final = 10
_BLANK: Final = 32
_MINUS: Final = 45
_ZERO: Final = np.uint8(48)
_MOST_DIGITS: Final = 15
_LONGEST_NUMBER: Final = _MOST_DIGITS + 2  # a sign and a point
_TENS: Final = 10.0 ** np.arange(_MOST_DIGITS + 1)


class CutBlock:
    """A block of rows that all have as many cells.

    Attributes:
        ends (rows, cells): Place of the separator or line feed after each cell.
    """

    def __init__(self, block: RowBlock, ends: Places) -> None:
        self.ends = ends
        self._written = np.frombuffer(block.body, dtype=np.uint8)

    def _cells(self, index: int, rows: Mask | None = None) -> tuple[Places, Places]:
        """Return end and length of the cells of a column."""
        ends = self.ends[:, index]
        if index:
            lengths = ends - self.ends[:, index - 1] - 1
        else:
            lengths = np.diff(self.ends[:, -1], prepend=-1) - 1
            lengths -= self.ends[:, -1] - ends
        return (ends, lengths) if rows is None else (ends[rows], lengths[rows])

    def texts(self, index: int, rows: Mask | None = None) -> Texts:
        """Return the cells of a column, or of some of its rows, without white space around."""
        ends, lengths = self._cells(index, rows)
        starts = ends - lengths
        lengths = np.minimum(lengths, LONGEST)
        longest = max(int(lengths.max()), 1)
        written = self._written
        if int(starts[-1]) + longest > written.size:
            written = np.append(written, np.zeros(longest, dtype=np.uint8))
        letters = np.lib.stride_tricks.sliding_window_view(written, longest)[starts]
        if lengths.min() < longest:
            letters[np.arange(longest) >= lengths[:, None]] = 0
        cells = np.ascontiguousarray(letters).view(f"S{longest}").ravel()
        last = letters[np.arange(lengths.size), np.maximum(lengths - 1, 0)]
        edges = np.concatenate([letters[:, 0], last])
        return np.char.strip(cells) if np.any((edges <= _BLANK) & (edges > 0)) else cells

    def numbers(self, index: int, decimal: str) -> tuple[Floats, Mask]:
        """Read a column of plain numbers: digits, perhaps a point among them and a minus before.

        Args:
            decimal: What stands for the point.

        Returns:
            Shape (rows,): NaN where the cell is empty; and whether a cell is something else.
        """
        ends, lengths = self._cells(index)
        longest, shortest = min(int(lengths.max()), _LONGEST_NUMBER), int(lengths.min())
        found = _Numbers(lengths, ord(decimal))
        places = ends - longest
        for left in range(longest, 0, -1):
            letters = self._written.take(places, mode="clip")  # clipped is only what is outside
            places += 1
            found.add(letters, left, begun=(lengths >= left) if left > shortest else None)
        return found.values(shortest)


class _Numbers:
    """Numbers of a column while their letters come in, from left to right.

    Attributes:
        odd (rows,): Cells that are no plain numbers.
    """

    def __init__(self, lengths: Places, point: int) -> None:
        rows = lengths.size
        self._lengths, self._point = lengths, point
        self._digits = np.zeros(rows)
        self._after = np.zeros(rows, dtype=np.uint8)
        self._pointed = np.zeros(rows, dtype=np.uint8)
        self._negative = np.zeros(rows, dtype=bool)
        self._any_point = False
        self.odd: Mask = lengths > _LONGEST_NUMBER

    def add(self, letters: npt.NDArray[np.uint8], left: int, begun: Mask | None) -> None:
        """Take the next letter of each cell.

        Args:
            left: Letters to come, with this one.
            begun: Cells that have begun; None if all have.
        """
        numerals = letters - _ZERO
        if begun is not None:
            numerals *= begun
        plain = numerals <= 9
        if plain.all():
            self._digits *= 10.0
            self._digits += numerals
            if self._any_point:
                self._after += self._pointed
            return
        self._any_point = True
        point = letters == self._point
        if begun is not None:
            point &= begun
        self.odd |= point & (self._pointed > 0)
        self._pointed |= point
        if point.all() or (begun is not None and np.array_equal(point, begun)):
            return  # those that have not begun are still 0
        minus = (letters == _MINUS) & (self._lengths == left)
        self.odd |= ~(plain | point | minus)
        self._negative |= minus
        np.multiply(self._digits, 10.0, out=self._digits, where=plain)
        np.add(self._digits, numerals, out=self._digits, where=plain)
        self._after += self._pointed & plain

    def values(self, shortest: int) -> tuple[Floats, Mask]:
        """Return the numbers, and which cells are none.

        Args:
            shortest: Length of the shortest cell.
        """
        values, after = self._digits, self._after
        if self._any_point:
            alike = bool((after == after[0]).all())
            values /= (
                _TENS[min(int(after[0]), _MOST_DIGITS)] if alike else _TENS.take(after, mode="clip")
            )
        if self._negative.any():
            np.negative(values, out=values, where=self._negative)
        digits = self._lengths - self._pointed - self._negative
        few, many = digits < 1, digits > _MOST_DIGITS
        if few.any() or many.any():
            self.odd |= many | (few & (self._lengths > 0))
        if shortest < 1 or self.odd.any():
            values[self.odd | (self._lengths == 0)] = np.nan
        return values, self.odd


def cut_block(block: RowBlock, form: RowForm) -> CutBlock | None:
    """Find the cells of a block.

    Returns:
        None where white space separates, or the rows are not all alike.
    """
    if form.given_separator == " ":
        return None
    written = np.frombuffer(block.body, dtype=np.uint8)
    ends: Places = np.flatnonzero((written == ord(form.given_separator)) | (written == _NEWLINE))
    rows = block.lines.size
    cells, over = divmod(ends.size, rows)
    if over or not form.fewest_cells <= cells <= form.most_cells:
        return None
    ends = ends.reshape(rows, cells)
    # there are as many line feeds as rows: if each stands last, none stands elsewhere
    return CutBlock(block, ends) if np.all(written[ends[:, -1]] == _NEWLINE) else None
