"""Columns of a table as arrays: numbers by a fast reader, the spoilt cells counted and named."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np
import numpy.typing as npt

from fleetcal.errors import DataError, MalformedFileError
from fleetcal.flightlog.cut_cells import TEXT_TYPE, CutBlock, Texts, cut_block
from fleetcal.flightlog.general_reader import parsed, parsed_numbers
from fleetcal.flightlog.missing_codes import without_codes
from fleetcal.flightlog.plain_numbers import Floats
from fleetcal.flightlog.raw_table import SPOILT_SHARE, RawTable
from fleetcal.flightlog.row_blocks import RowBlock, uneven_rows
from fleetcal.flightlog.text_form import MISSING_WORDS

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Floats", "NumberColumn", "TextColumn", "Texts", "read_columns"]

#: Beyond this share of cells that are no plain numbers the general reader is faster.
_ODD_SHARE: Final = 0.1
_BLANK: Final = 32
_NO_VALUE_BYTES: Final = np.array([word.encode() for word in sorted(MISSING_WORDS)])
# blocks read at a time: what reads numbers lets other threads run meanwhile
_MOST_READERS: Final = 2


@dataclass(frozen=True)
class TextColumn:
    """How the cells of a column that holds no plain numbers become numbers.

    Attributes:
        name: Heading for the message.
        what: Such as ``not a time``, for a cell that cannot be read.
        read: From cells to numbers of the same shape, NaN where one cannot be read.
    """

    name: str
    what: str
    read: Callable[[Texts], Floats]


@dataclass(frozen=True)
class NumberColumn:
    """How the cells of a column of numbers are read.

    Attributes:
        name: Heading for the message.
        missing: Further codes that stand for a missing value.
    """

    name: str
    missing: tuple[float | str, ...] = ()


ColumnForm: TypeAlias = TextColumn | NumberColumn


@dataclass
class _Tally:
    """Cells of one column that could not be read."""

    count: int = 0
    first_line: int = 0
    first_text: str = ""

    def join(self, later: _Tally) -> None:
        if not self.count:
            self.first_line, self.first_text = later.first_line, later.first_text
        self.count += later.count


@dataclass
class _Part:
    """Columns of one block."""

    rows: int
    values: dict[int, Floats]
    tallies: dict[int, _Tally]


def _tally(
    values: Floats, cells: Texts, allowed: Sequence[bytes], lines: npt.NDArray[np.int32]
) -> _Tally:
    """Count the cells that are neither readable nor known to stand for no value."""
    unread = np.flatnonzero(np.isnan(values))
    if not unread.size:
        return _Tally()
    texts = np.char.strip(cells[unread])
    bad = ~np.isin(np.char.lower(texts), _NO_VALUE_BYTES)
    if allowed:
        bad &= ~np.isin(texts, np.array(allowed, dtype=TEXT_TYPE))
    if not bad.any():
        return _Tally()
    first = int(np.argmax(bad))
    text = texts[first].decode("utf-8", "replace")
    return _Tally(int(bad.sum()), int(lines[unread[first]]), text)


def read_columns(
    table: RawTable, columns: Mapping[int, ColumnForm]
) -> tuple[dict[int, Floats], list[str]]:
    """Read some columns in one pass over the rows.

    Args:
        columns: Place of the column -> how to read it.

    Returns:
        Shape (rows,), list of str): The numbers as written, NaN for a missing value, and what was
        found wrong with a few cells of the columns of numbers.

    Raises:
        MalformedFileError: If more than 2 % of the cells of a column cannot be read.
    """
    found = {index: np.empty(table.row_count) for index in columns}
    tallies = {index: _Tally() for index in columns}
    row = 0
    for part in _parts(table, columns):
        stop = row + part.rows
        if stop > table.row_count:
            break
        for index, values in part.values.items():
            found[index][row:stop] = values
            tallies[index].join(part.tallies[index])
        row = stop
    if row != table.row_count:
        raise DataError(
            f"{table.source_name} was changed while it was read.",
            "Wait until the file is complete, then read it again.",
        )
    warnings = []
    for index, tally in tallies.items():
        form = columns[index]
        _refuse_many(table, form, tally)
        if tally.count and isinstance(form, NumberColumn):
            warnings.append(
                f"{tally.count} cells of '{form.name}' are not numbers and count as missing, "
                f"first {tally.first_text!r} in line {tally.first_line}"
            )
    return found, warnings


def _parts(table: RawTable, columns: Mapping[int, ColumnForm]) -> Iterator[_Part]:
    """Read the blocks of a table, some at a time, and hand them on in their order."""
    no_value = _words_for_missing(table, columns)
    readers = _readers()
    if len(table.held) == 1 or readers == 1:  # a thread would cost more than it gives
        for block in table.blocks():
            yield _block_columns(table, block, columns, no_value)
        return
    begun: deque[Future[_Part]] = deque()
    with ThreadPoolExecutor(readers) as pool:
        for block in table.blocks():
            begun.append(pool.submit(_block_columns, table, block, columns, no_value))
            if len(begun) > readers:
                yield begun.popleft().result()
        while begun:
            yield begun.popleft().result()


def _readers() -> int:
    try:
        processors = len(os.sched_getaffinity(0))
    except AttributeError:  # not every system tells
        processors = os.cpu_count() or 1
    return min(processors, _MOST_READERS)


def _refuse_many(table: RawTable, form: ColumnForm, tally: _Tally) -> None:
    if tally.count <= SPOILT_SHARE * table.row_count:
        return
    what = form.what if isinstance(form, TextColumn) else "not a number"
    raise MalformedFileError(
        f"{table.source_name}, line {tally.first_line}, column '{form.name}': "
        f"{tally.first_text!r} is {what} ({tally.count} of {table.row_count} cells).",
        "Correct the cells, or leave a missing value empty.",
    )


def _block_columns(
    table: RawTable,
    block: RowBlock,
    columns: Mapping[int, ColumnForm],
    no_value: Sequence[str],
) -> _Part:
    """Read the columns of one block: cut out of it if it is an ordinary one, else in general."""
    cut = cut_block(block, table.form)
    part = _cut_columns(table, block.lines, cut, columns) if cut is not None else None
    return part or _general_columns(table, block, columns, no_value)


def _cut_columns(
    table: RawTable,
    lines: npt.NDArray[np.int32],
    cut: CutBlock,
    columns: Mapping[int, ColumnForm],
) -> _Part | None:
    """Cut the columns out of some rows; None if too many cells are no plain numbers."""
    part = _Part(lines.size, {}, {index: _Tally() for index in columns})
    forms = [(i, form) for i, form in columns.items() if isinstance(form, NumberColumn)]
    if forms:
        numbers, odd = cut.numbers([index for index, _ in forms], table.decimal)
        if any(_code_cells(form) for _, form in forms):
            return None
        for (index, form), values, rows in zip(
            forms, numbers, [] if odd is None else odd, strict=False
        ):
            odd_cells = np.count_nonzero(rows)
            if odd_cells > _ODD_SHARE * lines.size:
                return None
            if odd_cells:
                cells = cut.texts(index, rows)
                values[rows] = _numbers_of(cells, table.decimal, form)
                part.tallies[index] = _tally(values[rows], cells, (), lines[rows])
        numbers = without_codes(numbers.reshape(-1)).reshape(numbers.shape)
        for (index, form), values in zip(forms, numbers, strict=True):
            part.values[index] = _scaled(values, index, table, form)
    for index, text_form in columns.items():
        if isinstance(text_form, TextColumn):
            cells = cut.texts(index)
            part.values[index] = values = text_form.read(cells)
            part.tallies[index] = _tally(values, cells, (), lines)
    return part


def _general_columns(
    table: RawTable,
    block: RowBlock,
    columns: Mapping[int, ColumnForm],
    no_value: Sequence[str],
) -> _Part:
    """Read the columns of any block; the numbers fast, unless a cell is none."""
    numbers = [i for i, form in columns.items() if isinstance(form, NumberColumn)]
    texts = [i for i in columns if i not in numbers]
    frame = parsed_numbers(table, block, numbers, texts, no_value)
    if frame is None:
        frame = parsed(table, block, [], list(columns), ())
    part = _Part(block.lines.size, {}, {})
    overlong = _overlong_rows(frame, table, block)
    for index, form in columns.items():
        logged = frame[str(index)].to_numpy()
        tally = _Tally()
        if isinstance(form, TextColumn):
            cells = _stripped(logged)
            values = form.read(cells)
            tally = _tally(values, cells, (), block.lines)
        elif logged.dtype == np.float64:
            values = logged
        else:
            cells = _stripped(logged)
            values = _numbers_of(cells, table.decimal, form)
            tally = _tally(values, cells, _code_cells(form), block.lines)
        if isinstance(form, NumberColumn):
            values = _scaled(without_codes(values), index, table, form)
        if overlong is not None:
            values = np.where(overlong, np.nan, values)
        part.values[index], part.tallies[index] = values, tally
    return part


def _stripped(logged: npt.NDArray[np.generic]) -> Texts:
    """Cells as bytes without white space around them; the reader leaves it at the end only."""
    cells = np.ascontiguousarray(logged.astype(TEXT_TYPE, copy=False))
    letters = cells.view(np.uint8).reshape(cells.size, cells.dtype.itemsize)
    ends = (letters[:, :-1] == _BLANK) & (letters[:, 1:] == 0)
    return np.char.strip(cells) if ends.any() else cells


def _overlong_rows(
    frame: pd.DataFrame, table: RawTable, block: RowBlock
) -> npt.NDArray[np.bool_] | None:
    """Return the uneven rows of a block in which a row has a cell too many, None if none has."""
    extra = frame[str(len(table.headings))].to_numpy()
    if not np.any(extra != b""):
        return None
    return uneven_rows(block.body, table.form)


def _words_for_missing(table: RawTable, columns: Mapping[int, ColumnForm]) -> list[str]:
    """List what stands for no value in this table: fewer words to compare are read faster."""
    shown = {row[index] for row in table.sample for index in columns if index < len(row)}
    forms = (form for form in columns.values() if isinstance(form, NumberColumn))
    codes = {code for form in forms for code in form.missing if isinstance(code, str)}
    return sorted({"", *codes, *(word for word in shown if word.lower() in MISSING_WORDS)})


def _code_cells(form: NumberColumn) -> list[bytes]:
    return [code.encode() for code in form.missing if isinstance(code, str)]


def _numbers_of(cells: Texts, decimal: str, form: NumberColumn) -> Floats:
    """Turn cells into numbers, NaN where one is none."""
    import pandas as pd

    plain = np.char.decode(cells, "utf-8", "replace")
    if decimal == ",":
        plain = np.char.replace(plain, ",", ".")
    series = pd.Series(plain.astype(object))
    numbers = pd.to_numeric(series, errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
    codes = np.array(_code_cells(form) or [b""], dtype=TEXT_TYPE)
    return np.where(np.isin(cells, codes), np.nan, numbers)


def _scaled(values: Floats, index: int, table: RawTable, form: NumberColumn) -> Floats:
    """Leave out the codes that are told for a missing value, and apply the format's factor."""
    codes = [code for code in form.missing if not isinstance(code, str)]
    codes += table.missing[index] if table.missing else ()
    for code in codes:
        values = np.where(np.isclose(values, code, rtol=1e-6, atol=1e-9), np.nan, values)
    return values * table.scales[index] if table.scales else values


def read_texts(table: RawTable, indices: Sequence[int]) -> dict[int, list[str]]:
    """Read some columns as text, without any guess at types; for short tables.

    Args:
        indices: Places of the columns.

    Returns:
        Place of the column -> cells, one a row, stripped.
    """
    columns = sorted(set(indices))
    found: dict[int, list[str]] = {index: [] for index in columns}
    for block in table.blocks():
        frame = parsed(table, block, [], columns, ())
        for index in columns:
            cells = frame[str(index)].to_numpy().astype(TEXT_TYPE)
            found[index] += [cell.decode("utf-8", "replace").strip() for cell in cells]
    return found


def read_numbers(table: RawTable, columns: dict[int, str]) -> tuple[dict[int, Floats], list[str]]:
    """Read some columns as numbers; a word for missing or a code becomes NaN.

    Args:
        columns: Place of the column -> name to use in messages.

    Returns:
        Shape (rows,), list of str): As `read_columns`.

    Raises:
        MalformedFileError: If more than 2 % of the cells of a column are not numbers.
    """
    return read_columns(table, {index: NumberColumn(name) for index, name in columns.items()})
