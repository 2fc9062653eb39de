"""Where in a file the headings stand and which row says what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fleetcal.flightlog.headings import take_apart
from fleetcal.flightlog.quantities import match_quantity
from fleetcal.flightlog.text_form import MISSING_WORDS, is_value, split_cells
from fleetcal.flightlog.unit_words import is_unit

_MOST_HEADING_ROWS: Final = 3
_UNIT_SHARE: Final = 0.4


@dataclass(frozen=True, kw_only=True)
class HeadingRows:
    """The heading rows of a table.

    Attributes:
        first_heading, first_data: Index of the lines where headings and data begin.
        headings, units: One each for a column; no headings if none were found.
        heading_lines: The heading rows as written, to know them when they are repeated.
        known: How many of the headings name a known quantity.
        fewest_cells, most_cells: Number of cells that a good row has.
    """

    first_heading: int
    first_data: int
    headings: tuple[str, ...]
    units: tuple[str, ...]
    heading_lines: frozenset[str]
    known: int
    fewest_cells: int
    most_cells: int


def find_heading_rows(lines: Sequence[str], separator: str, width: int) -> HeadingRows:
    """Find the row of headings and, if there is one, the row of units.

    Args:
        lines: Lines of the file without the blank ones.
        width: The usual number of cells in a row.

    Returns:
        `first_data` is the number of lines if there is no data.
    """
    first_data = next(
        (i for i, line in enumerate(lines) if _is_data(split_cells(line, separator), width)),
        len(lines),
    )
    candidates = _rows_above(lines, separator, width, first_data)
    if not candidates:
        return HeadingRows(
            first_heading=first_data,
            first_data=first_data,
            headings=(),
            units=(),
            heading_lines=frozenset(),
            known=0,
            fewest_cells=width,
            most_cells=width,
        )
    names, units = _names_and_units([cells for _, cells in candidates])
    while names and not names[-1]:
        names = names[:-1]
    count = max(len(names), 1)
    units = (units + [""] * count)[:count]
    first = candidates[0][0]
    return HeadingRows(
        first_heading=first,
        first_data=first_data,
        headings=tuple(names),
        units=tuple(units),
        heading_lines=frozenset(lines[i] for i, _ in candidates),
        known=_known(names, units),
        fewest_cells=min(count, width),
        most_cells=max(count, width) if abs(count - width) <= 1 else count,
    )


def _is_data(cells: Sequence[str], width: int) -> bool:
    """Tell whether a row holds mostly numbers and times, in about the usual width."""
    filled = [cell for cell in cells if cell.lower() not in MISSING_WORDS]
    values = sum(is_value(cell) for cell in filled)
    return abs(len(cells) - width) <= 1 and values >= 2 and values >= 0.5 * len(filled)


def _rows_above(
    lines: Sequence[str], separator: str, width: int, first_data: int
) -> list[tuple[int, list[str]]]:
    """Rows right above the data that can be headings, in file order."""
    found: list[tuple[int, list[str]]] = []
    for index in range(first_data - 1, max(first_data - 1 - _MOST_HEADING_ROWS, -1), -1):
        cells = split_cells(lines[index].lstrip("#%!").strip(" "), separator)
        filled = [cell for cell in cells if cell]
        sparse = len(cells) < max(2, 0.5 * width) or 2 * len(filled) < len(cells)
        # a sparse row of units belongs to the headings, a sparse title does not
        if sparse and (found or not filled or not all(is_unit(cell) for cell in filled)):
            break
        if sum(is_value(cell) for cell in filled) > 0.5 * len(filled):
            break
        found.insert(0, (index, cells))
    return found


def _names_and_units(rows: list[list[str]]) -> tuple[list[str], list[str]]:
    """Tell the row of names from the row of units; two rows of names are joined."""
    shares = [_unit_share(row) for row in rows]
    units: list[str] = []
    if len(rows) > 1 and max(shares) >= _UNIT_SHARE:
        units = rows.pop(shares.index(max(shares)))
    known = [_known(row, units) for row in rows]
    names = rows[known.index(max(known))]
    if len(rows) > 1:
        joined = [" ".join(part for part in parts if part) for parts in _aligned(rows)]
        if _known(joined, units) > max(known):
            names = joined
    return names, units


def _aligned(rows: list[list[str]]) -> list[tuple[str, ...]]:
    """Transpose rows of unequal length, filling with empty cells."""
    width = max(len(row) for row in rows)
    return list(zip(*(row + [""] * (width - len(row)) for row in rows), strict=True))


def _unit_share(row: Sequence[str]) -> float:
    """Share of the filled cells that are a bare unit."""
    filled = [cell for cell in row if cell]
    return sum(is_unit(cell.strip("()[]")) for cell in filled) / max(len(filled), 1)


def _known(names: Sequence[str], units: Sequence[str]) -> int:
    """Count the headings that name a known quantity."""
    padded = [*units, *[""] * len(names)]
    return sum(
        match_quantity(take_apart(name, padded[i])) is not None for i, name in enumerate(names)
    )
