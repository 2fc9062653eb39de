"""Which column of a table holds which quantity, and in which unit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np

from fleetcal.flightlog.headings import Heading, take_apart
from fleetcal.flightlog.quantities import QuantityMatch, match_quantity
from fleetcal.flightlog.raw_table import RawTable
from fleetcal.flightlog.text_form import MISSING_WORDS, NUMBER
from fleetcal.flightlog.time_form import time_form
from fleetcal.flightlog.unit_words import is_unread_unit, unit_named

_USUAL_UNIT: Final = {"speed": "kt", "length": "ft", "temperature": "degC", "angle": "deg"}
_ASSUMED: Final = 0.7


@dataclass(frozen=True, kw_only=True)
class ColumnChoice:
    """One column that was understood.

    Attributes:
        quantity: What it holds.
        heading: Its heading as written.
        index: Its place in the row, from 0.
        unit: Unit of the cells, a name of `fleetcal.units.TO_SI`; for a clock the form of its
            cells; empty for text.
        confidence: From 0 to 1; below 0.75 the heading left a word or the unit open.
        sample: The first filled cell.
        unit_stated: False if the unit is the usual one and not written in the file.
        missing: Further codes that stand for a missing value.
        mapped: True if a mapping says so and not the heading.
        believed: True if a mapping says to believe the column whatever contradicts it.
    """

    quantity: str
    heading: str
    index: int
    unit: str
    confidence: float
    sample: str
    unit_stated: bool = True
    missing: tuple[float | str, ...] = ()
    mapped: bool = False
    believed: bool = False


def understand_columns(table: RawTable) -> tuple[ColumnChoice, ...]:
    """Tell which column holds which quantity, by headings, units and values.

    At most one column is chosen for a quantity: the plainest heading, then
    the one with more filled cells, then the first.

    Returns:
        In the order of the columns.
    """
    best: dict[str, tuple[float, ColumnChoice]] = {}
    for index, text in enumerate(table.headings):
        heading = take_apart(text, table.units[index])
        match = match_quantity(heading)
        if match is None:
            continue
        cells = [row[index] for row in table.sample if index < len(row)]
        filled = [cell for cell in cells if cell.lower() not in MISSING_WORDS]
        choice = _choice(heading, match, index, filled, table)
        if choice is None:
            continue
        rank = choice.confidence + 0.3 * len(filled) / max(len(cells), 1)
        if choice.quantity not in best or rank > best[choice.quantity][0]:
            best[choice.quantity] = (rank, choice)
    return tuple(sorted((choice for _, choice in best.values()), key=lambda c: c.index))


def lone_altitude(table: RawTable) -> ColumnChoice | None:
    """Return the one column that is headed altitude and says no more, None without one."""
    match = QuantityMatch("baro_altitude", "length", 1.0)
    found = []
    for index, text in enumerate(table.headings):
        heading = take_apart(text, table.units[index])
        if heading.words == {"altitude"}:
            cells = [row[index] for row in table.sample if index < len(row)]
            filled = [cell for cell in cells if cell.lower() not in MISSING_WORDS]
            choice = _choice(heading, match, index, filled, table)
            found += [choice] if choice is not None else []
    return found[0] if len(found) == 1 else None


def unread_units(table: RawTable) -> dict[str, list[str]]:
    """Name the columns that are left alone because their unit is not known.

    Returns:
        Quantity -> headings, with the unit where it stands in a row of its own.
    """
    found: dict[str, list[str]] = {}
    for text, unit in zip(table.headings, table.units, strict=True):
        heading = take_apart(text, unit)
        match = match_quantity(heading)
        if match is not None and _is_unread(heading, match):
            shown = f"{heading.text}, {unit}" if unit else heading.text
            found.setdefault(match.quantity, []).append(shown)
    return found


def _is_unread(heading: Heading, match: QuantityMatch) -> bool:
    """Tell whether the only unit that a heading states is none that is read."""
    if match.kind in {"text", "time"}:
        return False
    if any(unit_named(text, match.kind) for text in heading.unit_texts):
        return False
    return any(is_unread_unit(text, match.kind) for text in heading.unit_texts)


def _choice(
    heading: Heading, match: QuantityMatch, index: int, filled: Sequence[str], table: RawTable
) -> ColumnChoice | None:
    """Settle quantity and unit of one column; None if it holds nothing to use."""
    if not filled:
        return None
    chosen = partial(ColumnChoice, heading=heading.text, index=index, sample=filled[0])
    if match.kind == "text":
        return chosen(quantity=match.quantity, unit="", confidence=match.confidence)
    if match.quantity == "clock":
        form = time_form(heading, filled, table.decimal)
        if form is None:
            return None
        confidence = match.confidence * (1.0 if "utc" in heading.words else 0.9)
        confidence *= 0.6 if "local" in heading.words else 1.0
        return chosen(quantity=form.quantity, unit=form.unit, confidence=confidence)
    if match.quantity == "utc_offset":
        return chosen(quantity="utc_offset", unit="", confidence=match.confidence)
    values = _numbers(filled, table.decimal)
    if not values.size:
        return None
    for text in heading.unit_texts:
        unit = unit_named(text, match.kind)
        if unit is not None:
            return chosen(quantity=match.quantity, unit=unit, confidence=match.confidence)
    unit = usual_unit(match, values)
    if unit is None or _is_unread(heading, match):
        return None
    return chosen(
        quantity=match.quantity,
        unit=unit,
        confidence=match.confidence * _ASSUMED,
        unit_stated=False,
    )


def _numbers(filled: Sequence[str], decimal: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Turn the numeric ones among some cells into numbers."""
    texts = [cell.replace(",", ".") if decimal == "," else cell for cell in filled]
    return np.array([float(text) for text in texts if NUMBER.fullmatch(text) and "," not in text])


def usual_unit(
    match: QuantityMatch, values: np.ndarray[tuple[int], np.dtype[np.float64]]
) -> str | None:
    """Return the unit to assume where none is written, if the values leave one only."""
    middle = float(np.median(values))
    if match.quantity in {"static_pressure", "altimeter_setting"}:
        return _pressure_unit(middle)
    if match.kind in {"pressure", "flow", "fuel"}:
        return None
    if match.kind == "plain":
        return "1"
    if match.kind == "percent":
        return "%" if float(np.max(values)) > 1.0 else None
    if match.quantity == "vertical_speed":
        return None
    if match.kind == "temperature" and middle > 200.0:
        return "K"
    if match.quantity in {"track", "heading"} and 1.0 < float(np.max(np.abs(values))) < 6.3:
        return "rad" if np.any(values != np.round(values)) else "deg"
    return _USUAL_UNIT[match.kind]


def _pressure_unit(middle: float) -> str | None:
    """Tell the unit of an atmospheric pressure by its size."""
    for unit, low, high in (("inHg", 10.0, 32.0), ("hPa", 200.0, 1100.0), ("Pa", 2e4, 1.1e5)):
        if low <= middle <= high:
            return unit
    return None
