"""Plain decimal numbers of a column, read eight letters at a time for all rows at once.

The eight letters before a place in a block are one integer of 64 bits, the letter of the highest
value first in memory. Taking 0 from letters, finding a point, closing its gap and putting digits
together are then a few whole-number operations a row, whatever the length of the cell. Up to 15
digits give an integer that a float holds exactly, divided by an exact power of ten: the nearest
float there is, as any careful reader finds it.
"""

from __future__ import annotations

from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt

Words: TypeAlias = npt.NDArray[np.uint64]
Floats: TypeAlias = npt.NDArray[np.float64]
Mask: TypeAlias = npt.NDArray[np.bool_]
Places: TypeAlias = npt.NDArray[np.intp]

#: Letters of a word.
LETTERS: Final = 8
#: Letters before a place that may be looked at.
MARGIN: Final = 2 * LETTERS
_MOST_DIGITS: Final = 15
_MOST_LETTERS: Final = _MOST_DIGITS + 1  # and a point
_TENS: Final = 10.0 ** np.arange(_MOST_LETTERS + 1)
#: Of a word: its last letters only, by how many.
_KEPT: Final = np.array(
    [(1 << 64) - (1 << 8 * (LETTERS - kept)) for kept in range(LETTERS + 1)], dtype=np.uint64
)


def _each(letter: int) -> np.uint64:
    """Return a word that has one letter eight times."""
    return np.uint64(letter * 0x0101010101010101)


_ZEROS: Final = _each(ord("0"))
_HIGHEST: Final = _each(0x80)
_OTHERS: Final = _each(0x7F)
_OVER_NINE: Final = _each(0x80 - 10)
_ONE, _SEVEN, _BYTE, _ALL_BUT_ONE = (np.uint64(n) for n in (1, 7, 8, 8 * (LETTERS - 1)))
#: How neighbours of one, two and four digits are joined: factor, shift, what is kept then.
_JOINTS: Final = tuple(
    (np.uint64((10**digits << 8 * digits) + 1), np.uint64(8 * digits), np.uint64(kept))
    for digits, kept in ((1, 0x00FF00FF00FF00FF), (2, 0x0000FFFF0000FFFF), (4, 0xFFFFFFFF))
)


class WordsBefore:
    """The words that end before any place of some bytes.

    Args:
        written (`MARGIN` + n,): The bytes, and before them as many others, which no place counts.
    """

    def __init__(self, written: npt.NDArray[np.uint8]) -> None:
        self._places = written.size - MARGIN + 1
        self._written = written

    def before(self, places: Places, back: int = 0) -> Words:
        """Return the eight letters before each place, or before one so many letters further back.

        Args:
            places: Shape (n,).
            back: 0 or 8.
        """
        offset = MARGIN - LETTERS - back
        words: Words = np.ndarray(
            (self._places,), "<u8", self._written.data, offset=offset, strides=(1,)
        )
        return words[places]


def plain_numbers(
    words: WordsBefore, ends: Places, lengths: Places, decimal: str
) -> tuple[Floats, Mask | None]:
    """Read cells of digits with perhaps a point among them.

    Args:
        ends: Shape (n,): Where each cell ends.
        lengths: Shape (n,).
        decimal: What stands for the point.

    Returns:
        Shape (n,): NaN where the cell is empty; and whether a cell is something else, None if
        none is.
    """
    longest, shortest = int(lengths.max()), int(lengths.min())
    point = _each(ord(decimal) ^ ord("0"))
    low = _digits(words.before(ends), lengths)
    marks = _marks(low, point, lengths)
    odd = _any_of(_several(marks), None)
    pointed, after = marks > 0, _letters_after(marks)
    low = _gap_closed(low, marks)
    if longest <= LETTERS:
        odd = _any_of(odd, _not_digits(low))
        numbers = _joined(low)
    else:
        high = _digits(words.before(ends, LETTERS), lengths - LETTERS)
        low = low | np.where(pointed, high >> _ALL_BUT_ONE, 0)
        high = np.where(pointed, high << _BYTE, high)
        marks = _marks(high, point, lengths)
        odd = _any_of(odd, _several(marks) | (pointed & (marks > 0)))
        after = after + np.where(marks > 0, LETTERS + _letters_after(marks), 0)
        pointed = pointed | (marks > 0)
        high = _gap_closed(high, marks)
        odd = _any_of(_any_of(odd, _not_digits(low)), _not_digits(high))
        numbers = _joined(high) * np.uint64(10**LETTERS) + _joined(low)
    if shortest < 2 and pointed.any():
        odd = _any_of(odd, (lengths == 1) & pointed)  # a point alone
    if longest > _MOST_DIGITS:
        odd = _any_of(odd, (lengths - pointed > _MOST_DIGITS) | (lengths > _MOST_LETTERS))
    values = numbers.view(np.int64).astype(np.float64)
    if pointed.any():
        values /= _TENS.take(after)
    if shortest < 1:
        np.putmask(values, lengths == 0, np.nan)
    if odd is None:
        return values, None
    odd = np.broadcast_to(odd, values.shape).copy()
    values[odd] = np.nan
    return values, odd


def _any_of(one: Mask | None, other: Mask | None) -> Mask | None:
    """Join two findings; None if neither finds anything."""
    if one is None or other is None:
        found = other if one is None else one
        return found if found is not None and found.any() else None
    return one | other


def _digits(words: Words, lengths: Places) -> Words:
    """Take 0 from the last letters of words, as many as a cell has; the others become 0."""
    digits: Words = words ^ _ZEROS
    digits &= _KEPT.take(lengths, mode="clip")
    return digits


def _marks(digits: Words, point: np.uint64, lengths: Places) -> Words:
    """Mark the points of each word by the highest bit of their letters.

    Args:
        lengths (n,): An empty cell may have its point anywhere.

    Returns:
        Shape (n,), or (1,) if they are at the same place in all words.
    """
    filled = int(np.argmax(lengths > 0))
    first = _marks_of(digits[filled : filled + 1], point)
    if first[0] and not _several(first)[0]:
        letter = (first >> _SEVEN) * np.uint64(0xFF)
        # another point in one of the words is no digit
        alike = (digits & letter) == (point & letter)
        if not alike.all():
            alike |= lengths == 0
        if alike.all():
            return first
    return _marks_of(digits, point)


def _marks_of(digits: Words, point: np.uint64) -> Words:
    apart = digits ^ point
    marks: Words = apart & _OTHERS
    marks += _OTHERS
    marks |= apart
    marks |= _OTHERS
    np.invert(marks, out=marks)
    return marks


def _several(marks: Words) -> Mask:
    several: Mask = (marks & (marks - _ONE)) > 0
    return several


def _letters_after(marks: Words) -> Places:
    """Count the letters after a point in its word, 0 where there is none."""
    bits = np.bitwise_count(np.negative(marks << _ONE))
    return np.asarray(bits >> 3, dtype=np.intp)


def _gap_closed(digits: Words, marks: Words) -> Words:
    """Move the letters before a point to its place."""
    before = digits & ((marks >> _SEVEN) - _ONE)
    before <<= _BYTE
    before |= digits & np.negative(marks << _ONE)
    return before if marks.all() else np.where(marks > 0, before, digits)


def _not_digits(digits: Words) -> Mask | None:
    """Tell which words have letters that are no digits, None if none has."""
    # what one letter may carry over to the next is of a word that is told anyway
    over = digits + _OVER_NINE
    over |= digits
    if not np.bitwise_or.reduce(over) & _HIGHEST:
        return None
    wrong: Mask = (over & _HIGHEST) > 0
    return wrong


def _joined(digits: Words) -> Words:
    """Put eight digits together; changes what it is given."""
    for factor, shift, kept in _JOINTS:
        digits *= factor
        digits >>= shift
        digits &= kept
    return digits
