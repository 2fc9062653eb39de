"""Columns of a table as arrays: numbers by a fast reader, the spoilt cells counted and named."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from fleetcal.errors import MalformedFileError
from fleetcal.flightlog.raw_table import SPOILT_SHARE, RawTable
from fleetcal.flightlog.text_form import MISSING_WORDS

Floats = npt.NDArray[np.float64]


def read_texts(table: RawTable, indices: Sequence[int]) -> dict[int, pd.Series[str]]:
    """Read some columns as text, without any guess at types.

    Parameters
    ----------
    table : RawTable
    indices : sequence of int
        Places of the columns.

    Returns
    -------
    dict
        Place of the column -> series of str, one a row, stripped.
    """
    wanted = sorted(set(indices))
    frame = pd.read_csv(
        _body(table),
        sep=r"\s+" if table.separator == " " else table.separator,
        header=0,
        index_col=False,
        usecols=wanted,
        dtype=str,
        keep_default_na=False,
        skip_blank_lines=False,
        skipinitialspace=True,
        quoting=csv.QUOTE_NONE,
    )
    return {index: frame[str(index)].fillna("").str.strip() for index in wanted}


def _body(table: RawTable) -> io.StringIO:
    """Rows under a heading of plain numbers, one more than columns for a trailing separator."""
    heading = table.separator.join(str(index) for index in range(len(table.headings) + 1))
    return io.StringIO("\n".join((heading, *table.lines)))


def read_numbers(table: RawTable, columns: dict[int, str]) -> tuple[dict[int, Floats], list[str]]:
    """Read some columns as numbers; a word for missing or a code becomes NaN.

    Parameters
    ----------
    table : RawTable
    columns : dict
        Place of the column -> name to use in messages.

    Returns
    -------
    (dict of int to ndarray of shape (rows,), list of str)
        The numbers as written, and what was found wrong with a few cells.

    Raises
    ------
    MalformedFileError
        If more than 2 % of the cells of a column are not numbers.
    """
    try:
        return _fast(table, columns), []
    except (ValueError, pd.errors.ParserError):
        pass
    warnings: list[str] = []
    numbers = {
        index: numbers_of(texts, columns[index], table, warnings)
        for index, texts in read_texts(table, list(columns)).items()
    }
    return numbers, warnings


def _fast(table: RawTable, columns: dict[int, str]) -> dict[int, Floats]:
    """Read with the numeric reader; ValueError if any cell is neither number nor missing."""
    frame = pd.read_csv(
        _body(table),
        sep=r"\s+" if table.separator == " " else table.separator,
        header=0,
        index_col=False,
        usecols=sorted(columns),
        dtype=np.float64,
        decimal=table.decimal,
        na_values=sorted(MISSING_WORDS | {word.upper() for word in MISSING_WORDS}),
        skip_blank_lines=False,
        skipinitialspace=True,
        quoting=csv.QUOTE_NONE,
    )
    return {index: without_codes(frame[str(index)].to_numpy(dtype=np.float64)) for index in columns}


def numbers_of(texts: pd.Series[str], name: str, table: RawTable, warnings: list[str]) -> Floats:
    """Turn one column of text into numbers, noting the cells that are none.

    Parameters
    ----------
    texts : series of str, one a row
    name : str
        Heading for the message.
    table : RawTable
    warnings : list of str
        A line is added if a few cells could not be read.

    Returns
    -------
    ndarray of float, shape (rows,)

    Raises
    ------
    MalformedFileError
        If more than 2 % of the cells are not numbers.
    """
    plain = texts.str.replace(",", ".", regex=False) if table.decimal == "," else texts
    numbers = pd.to_numeric(plain, errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
    missing = texts.str.lower().isin(MISSING_WORDS).to_numpy(dtype=bool)
    bad = np.isnan(numbers) & ~missing
    refuse_many(bad, texts, name, "not a number", table)
    if bad.any():
        first = int(np.argmax(bad))
        warnings.append(
            f"{int(bad.sum())} cells of '{name}' are not numbers and count as missing, first "
            f"{texts.iloc[first]!r} in line {table.line_numbers[first]}"
        )
    return without_codes(numbers)


def refuse_many(
    bad: npt.NDArray[np.bool_], texts: pd.Series[str], name: str, what: str, table: RawTable
) -> None:
    """Raise `MalformedFileError` if more than 2 % of the cells are marked bad."""
    if bad.sum() <= SPOILT_SHARE * bad.size:
        return
    first = int(np.argmax(bad))
    raise MalformedFileError(
        f"{table.source_name}, line {table.line_numbers[first]}, column '{name}': "
        f"{texts.iloc[first]!r} is {what} ({int(bad.sum())} of {bad.size} cells).",
        "Correct the cells, or leave a missing value empty.",
    )


def without_codes(numbers: Floats) -> Floats:
    """Replace the codes for a missing value, minus and nothing but nines, by NaN.

    Parameters
    ----------
    numbers : ndarray of float

    Returns
    -------
    ndarray of float, same shape
        From -9999 on downwards: -999 can be a rate of descent and is left to
        the limits of each quantity.
    """
    rounded = np.round(numbers, 3)
    code = np.zeros(numbers.shape, dtype=bool)
    for nines in range(4, 9):
        whole = 10.0**nines - 1.0
        for part in (0.0, 0.9, 0.99, 0.999):
            code |= np.abs(rounded + (whole + part)) < 1e-6 * whole * (nines > 6) + 1e-4
    return np.where(code | ~np.isfinite(numbers), np.nan, numbers)
