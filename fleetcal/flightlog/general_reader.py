"""One block of a table as the library reads it: any row, any cell, more slowly than plain ones."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from fleetcal.flightlog.cut_cells import TEXT_TYPE
from fleetcal.flightlog.plain_numbers import Floats
from fleetcal.flightlog.raw_table import RawTable
from fleetcal.flightlog.row_blocks import RowBlock

if TYPE_CHECKING:
    import pandas as pd

_LOOKED_AT: Final = 1 << 16
_YES_OR_NO: Final = re.compile(rb"true|false", re.IGNORECASE)


def parsed_numbers(
    table: RawTable,
    block: RowBlock,
    numbers: Sequence[int],
    texts: Sequence[int],
    no_value: Sequence[str],
) -> pd.DataFrame | None:
    """Let the reader take numbers as such; None if a cell is none."""
    try:
        frame = parsed(table, block, numbers, texts, no_value)
    except ValueError:  # the reader's own errors are of this kind
        return None
    # It takes a column of nothing but "true" and "false" for ones and zeros.
    doubtful = any(_ones_and_zeros(frame[str(i)].to_numpy()) for i in numbers)
    return None if doubtful and _YES_OR_NO.search(block.body) else frame


def _ones_and_zeros(values: Floats) -> bool:
    return bool(np.all((values == 0.0) | (values == 1.0) | np.isnan(values)))


def parsed(
    table: RawTable,
    block: RowBlock,
    numbers: Sequence[int],
    texts: Sequence[int],
    no_value: Sequence[str],
) -> pd.DataFrame:
    """Let the reader take columns of numbers and of text out of one block."""
    import pandas as pd  # which takes longer to load than a small log to read

    start, blank_first = block.body[:_LOOKED_AT], table.separator.encode() + b" "
    # one name more than columns: for a separator at the end of each row, or a cell too many
    extra = len(table.headings)
    names = table.separator.join(str(i) for i in range(extra + 1))
    types: dict[str, object] = {str(i): np.float64 for i in numbers}
    return pd.read_csv(  # type: ignore[call-overload,no-any-return]
        io.BytesIO(names.encode() + b"\n" + block.body),
        sep=r"\s+" if table.separator == " " else table.separator,
        header=0,
        index_col=False,
        usecols=sorted({*numbers, *texts, extra}),
        dtype=types | {str(i): TEXT_TYPE for i in texts} | {str(extra): "S1"},
        decimal=table.decimal,
        keep_default_na=False,
        na_values={str(i): list(no_value) for i in numbers},
        skip_blank_lines=False,
        # looking for blanks that are not there costs the reader half as much again
        skipinitialspace=not numbers or blank_first in start or b"\n " in start,
        quoting=csv.QUOTE_NONE,
        encoding_errors="replace",
    )
