"""Delimited texts of a flight: clocks, units, separators and codings at choice."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta

import numpy as np

from .flown import Flown

DAY = datetime(2024, 5, 2, tzinfo=UTC)
Cells = list[str]
Columns = dict[str, Cells]


def written(values: np.ndarray, decimals: int) -> Cells:
    """Write numbers with a fixed number of decimals."""
    return [f"{value:.{decimals}f}" for value in values]


def clock(flown: Flown, form: str, shift_s: float = 0.0) -> Cells:
    """Write the clock by a pattern of strftime; %2 stands for hundredths of a second."""
    cells = []
    for second in flown.second:
        instant = DAY + timedelta(seconds=float(second) + shift_s)
        hundredths = f"{instant.microsecond // 10000:02d}"
        cells.append(instant.strftime(form.replace("%2", hundredths)))
    return cells


def readings(flown: Flown) -> Columns:
    """The plain readings, finely written."""
    return {
        "IAS (kt)": written(flown.ias_kt, 2),
        "pressure altitude (ft)": written(flown.altitude_ft, 1),
        "OAT (degC)": written(flown.oat_degc, 2),
        "ground speed (kt)": written(flown.gs_kt, 2),
        "track (deg true)": written(flown.track_deg, 2),
    }


def iso(flown: Flown) -> Columns:
    """A clock that leaves nothing open."""
    return {"UTC": clock(flown, "%Y-%m-%dT%H:%M:%S.%2Z")}


def table(columns: Columns, separator: str = ",", heading: Sequence[Sequence[str]] = ()) -> str:
    """Put columns together below their headings, or below other heading rows."""
    heads = heading or [list(columns)]
    rows = [separator.join(head) for head in heads]
    rows += [separator.join(cells) for cells in zip(*columns.values(), strict=True)]
    return "\n".join(rows) + "\n"


def decimal_comma(columns: Columns) -> Columns:
    """Write the numbers of all columns with a decimal comma."""
    return {name: [cell.replace(".", ",") for cell in cells] for name, cells in columns.items()}


def replaced(columns: Columns, changes: dict[str, tuple[str, Cells]]) -> Columns:
    """Replace columns by others under another heading; an empty heading drops one."""
    found: Columns = {}
    for name, cells in columns.items():
        heading, values = changes.get(name, (name, cells))
        if heading:
            found[heading] = values
    return found


def changed(text: str, change: Callable[[list[str]], list[str]]) -> str:
    """Change the lines of a text."""
    return "\n".join(change(text.splitlines())) + "\n"
