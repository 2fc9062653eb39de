"""The separator and the decimal sign of a delimited text, and how its cells are told apart."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from typing import Final

NUMBER: Final = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")
CLOCK: Final = re.compile(
    r"(\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}[T ]?)?(\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?)?"
    r"( ?[AaPp][Mm])?( ?(Z|[+-]\d{2}:?\d{2}|UTC))?"
)
MISSING_WORDS: Final = frozenset(
    {
        "",
        "-",
        "--",
        "---",
        "----",
        "n/a",
        "na",
        "nan",
        "null",
        "none",
        "*",
        "**",
        "***",
        "?",
        "#n/a",
    }
    | {"missing", "invalid", "inf", "-inf", "-nan"}
)
SEPARATORS: Final = ("\t", ";", ",", "|", " ")
_FOREIGN: Final = re.compile(r"[\t;,|]")
_SAMPLE_LINES: Final = 400
_PREAMBLE_LINES: Final = 100


def split_cells(line: str, separator: str) -> list[str]:
    """Split one line into its cells, stripped of white space and quotes.

    Args:
        separator: One character; a blank stands for any run of white space.
    """
    if separator == " ":
        return line.split()
    if '"' in line:
        try:
            cells = next(csv.reader([line], delimiter=separator, skipinitialspace=True))
        except csv.Error:
            cells = line.replace('"', "").split(separator)
    else:
        cells = line.split(separator)
    return [cell.strip() for cell in cells]


def is_value(cell: str) -> bool:
    """Tell whether a cell is a number, a date or a clock time."""
    return bool(NUMBER.fullmatch(cell)) or (cell[:1].isdigit() and bool(CLOCK.fullmatch(cell)))


def find_separator(lines: Sequence[str]) -> tuple[str, int] | None:
    """Find the character that splits the lines most evenly into clean cells.

    Args:
        lines: Lines of the file without the blank ones.

    Returns:
        (separator, width) or None: The separator and the usual number of cells; None if no
        separator yields two or more columns.
    """
    # behind any preamble, and spread so that one damaged stretch does not decide
    tail = lines[min(len(lines) // 2, _PREAMBLE_LINES) :]
    if not tail:
        return None
    tail = tail[:: -(-len(tail) // _SAMPLE_LINES)]
    best: tuple[float, int, str] | None = None
    for separator in SEPARATORS:
        if not any(separator in line for line in tail):
            continue
        score, width = _evenness(tail, separator)
        if width >= 2 and score > 0 and (best is None or (round(score, 2), width) > best[:2]):
            best = (round(score, 2), width, separator)
    return None if best is None else (best[2], best[1])


def _evenness(lines: Sequence[str], separator: str) -> tuple[float, int]:
    """Share of rows of the usual width times share of clean cells in them."""
    rows = [split_cells(line, separator) for line in lines]
    width, count = Counter(len(row) for row in rows).most_common(1)[0]
    cells = Counter(cell for row in rows if len(row) == width for cell in row)
    clean = sum(n for cell, n in cells.items() if not _FOREIGN.search(cell) or is_value(cell))
    return count / len(rows) * clean / cells.total(), width


def find_decimal(rows: Sequence[Sequence[str]]) -> str:
    """Tell whether numbers are written with a decimal point or a decimal comma.

    Args:
        rows (sequence of sequences of str): Cells of some data rows.

    Returns:
        ``"."`` or ``","``.
    """
    cells = [cell for row in rows for cell in row if NUMBER.fullmatch(cell)]
    commas = sum("," in cell for cell in cells)
    points = sum("." in cell for cell in cells)
    return "," if commas > points else "."
