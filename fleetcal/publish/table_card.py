"""The card to keep in the aircraft: half a sheet of paper, figures large, words few."""

from __future__ import annotations

from math import floor
from typing import Final

from fleetcal.publish.cautions import SHORT_CAUTION
from fleetcal.publish.letters import drawable
from fleetcal.publish.palette import LIGHT
from fleetcal.publish.paper import (
    HALF_PAPERS,
    Sheet,
    drawing,
    new_sheet,
    paper_bytes,
    paper_size,
)
from fleetcal.publish.plain_text import outward, signed
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_lines import TableLine, given_places, table_lines
from fleetcal.publish.table_words import held_for_words, title_words
from fleetcal.wording import decimal

_MARGIN: Final = 26.0
_HIGHEST_ROW: Final = 25.0
_LOWEST_ROW: Final = 12.0
_FOOT: Final = 62.0
_ROUNDING: Final = 0.01
_WHOLE: Final = 1e-6
_COLUMNS: Final = (0.17, 0.40, 0.74, 0.98)
_COLUMNS_LIGHT: Final = (0.11, 0.30, 0.49, 0.79, 0.98)


def table_card(table: PooledTable, paper: str = "a4") -> bytes:
    """Return the card as a PDF of half a sheet.

    Args:
        table: Speeds that the data do not reach, and those above never exceed, are left out.
        paper: The whole sheet that is halved: ``a4`` or ``letter``.

    Returns:
        One page, more only if the lines do not fit. The same table gives the same bytes.

    Raises:
        ImplausibleError: If there is no such paper.
    """
    size = paper_size(HALF_PAPERS, paper)
    lines = table_lines(table)
    known = [line for line in lines if line.answer is not None and not line.beyond]
    places = given_places(lines)
    with drawing():
        sheets = [_begun(table, size)]
        row = _row_height(sheets[0], len(known))
        for line in known:
            if sheets[-1].left_over < row + _FOOT - _ROUNDING:
                sheets.append(_begun(table, size))
            _row(sheets[-1], line, table, places, row)
        if not known:
            sheets[-1].write("No speed was flown by enough aircraft.", 10.0)
        for number, sheet in enumerate(sheets, 1):
            _foot(sheet, table, number, len(sheets))
        return paper_bytes([sheet.figure for sheet in sheets], f"Card: {title_words(table)}", size)


def _row_height(sheet: Sheet, count: int) -> float:
    room = sheet.left_over - _FOOT
    return min(max(room / max(count, 1), _LOWEST_ROW), _HIGHEST_ROW)


def _begun(table: PooledTable, size: tuple[float, float]) -> Sheet:
    sheet = new_sheet(size, _MARGIN)
    sheet.write(title_words(table), 13.0, fontweight="bold")
    sheet.write(f"{held_for_words(table)} {table.altitude_statement}", 8.5, gap=3.0)
    if table.limits:
        sheet.write(_limits(table), 8.5, gap=3.0, fontweight="bold")
    if table.warning:
        sheet.write(table.warning, 10.0, gap=3.0, color=LIGHT["alarm"], fontweight="bold")
    for (name, below), end in zip(_headings(table), _ends(table), strict=True):
        place = sheet.margin + end * sheet.inner
        sheet.put(name, place, sheet.top, 8.5, ha="right", fontweight="bold")
        sheet.put(below, place, sheet.top + 11.0, 7.0, ha="right", color=LIGHT["quiet"])
    sheet.top += 24.0
    sheet.rule(sheet.top, weight=1.2, colour="ink")
    return sheet


def _headings(table: PooledTable) -> list[tuple[str, str]]:
    """Return names and what stands below them; with two weights, the second speed twice."""
    unit, weight = table.form.speed_unit, f"at {table.weight_kg:.0f} kg"
    first, second = ("CAS", "IAS") if table.form.from_cas else ("IAS", "CAS")
    band = (f"{second} of one aircraft", f"95 in 100 lie here, {unit}")
    altimeter = ("Altimeter", "add, ft")
    if table.light_weight_kg is not None:
        light = (second, f"at {table.light_weight_kg:.0f} kg")
        return [
            (first, unit),
            (second, weight),
            light,
            (band[0], f"95 in 100, {weight}"),
            altimeter,
        ]
    weights = (f"{unit}, {weight}", unit) if first == "IAS" else (unit, f"{unit}, {weight}")
    return [(first, weights[0]), (second, weights[1]), band, altimeter]


def _ends(table: PooledTable) -> tuple[float, ...]:
    return _COLUMNS if table.light_weight_kg is None else _COLUMNS_LIGHT


def _limits(table: PooledTable) -> str:
    """Return the limits in whole units, rounded down; lines above never exceed are left out."""
    told = ", ".join(
        f"{limit.name} {floor(table.form.printed(limit.usable_kt) + _WHOLE)}"
        for limit in table.limits
    )
    return (
        f"Limits on this port, {table.form.speed_unit} IAS: {told}; where the manual's are lower "
        "they hold."
    )


def _row(sheet: Sheet, line: TableLine, table: PooledTable, places: int, row: float) -> None:
    assert line.answer is not None
    size = min(row * 0.58, 13.0)
    height = line.altitude_correction_ft
    light = [("" if line.light is None else decimal(line.light), "bold")]
    cells = (
        (decimal(line.given, places), "bold"),
        (decimal(line.answer), "bold"),
        *(light if table.light_weight_kg is not None else []),
        (_one_aircraft(line, table), "normal"),
        ("" if height is None else signed(height, 0), "normal"),
    )
    for (text, weight), end in zip(cells, _ends(table), strict=True):
        place = sheet.margin + end * sheet.inner
        sheet.put(text, place, sheet.top + (row - size) * 0.4, size, ha="right", fontweight=weight)
    sheet.top += row
    sheet.rule(sheet.top)


def _one_aircraft(line: TableLine, table: PooledTable) -> str:
    """Return the band of the next aircraft as speeds, rounded outward: a pilot compares them."""
    if line.following is None:
        return ""
    base = 0.0 if table.form.from_cas else line.given
    low, high = (base + end for end in line.following)
    return outward(low, high)


def _foot(sheet: Sheet, table: PooledTable, number: int, count: int) -> None:
    sheet.top = sheet.height - sheet.margin - _FOOT + 10.0
    sheet.write(
        f"{SHORT_CAUTION} The approved manual, the kit maker's instructions, local rules and "
        "licensed practice come first. Only for an aircraft with this static source, at this flap "
        "setting and about this weight.",
        6.5,
        gap=2.0,
    )
    issue = "not a numbered issue" if table.issue is None else table.issue.title
    part = f", card {number} of {count}" if count > 1 else ""
    words = drawable(
        f"{issue}; made on {table.made_on.isoformat()} by fleetcal {table.program_version}{part}"
    )
    sheet.put(words, sheet.margin, sheet.height - sheet.margin - 8.0, 6.5, color=LIGHT["quiet"])
