"""Rows of a result as a frame: the columns that the command prints as CSV, unrounded."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

import pandas as pd

from fleetcal.services.for_programs import columns_of_rows, row_type, words_of

if TYPE_CHECKING:
    from pandas import DataFrame, Series


def result_frame(result: object, rows_in: str) -> DataFrame:
    """Return the rows of a result.

    Args:
        rows_in: Field or property that holds them.
    """
    rows: Sequence[object] = getattr(result, rows_in)
    columns = columns_of_rows(rows, row_type(result, rows_in), words_of(result))
    return pd.DataFrame({name: _column(values) for name, values in columns.items()})


def _column(values: list[object]) -> Series[Any]:
    """Return a column of one kind: numbers with NaN, counts and yes or no with a gap, or days."""
    known = [value for value in values if value is not None]
    gaps = len(known) < len(values)
    if known and all(isinstance(value, bool) for value in known):
        return pd.Series(values, dtype="boolean" if gaps else "bool")
    if known and all(isinstance(value, int) for value in known):
        return pd.Series(values, dtype="Int64" if gaps else "int64")
    if known and all(isinstance(value, int | float) for value in known):
        return pd.Series(values, dtype="float64")
    if known and all(isinstance(value, date) for value in known):
        return pd.Series(pd.to_datetime(pd.Series(values, dtype="object")))
    return pd.Series(values, dtype="object")
