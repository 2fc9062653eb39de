"""The card to keep in the aircraft: half a sheet of paper, figures large, words few."""

from __future__ import annotations

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
from fleetcal.publish.plain_text import decimal, outward, signed
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_lines import TableLine, given_places, table_lines
from fleetcal.publish.table_words import held_for_words, title_words

_MARGIN: Final = 26.0
_HIGHEST_ROW: Final = 25.0
_LOWEST_ROW: Final = 12.0
_FOOT: Final = 62.0
_ROUNDING: Final = 0.01
_COLUMNS: Final = (0.17, 0.40, 0.74, 0.98)


def table_card(table: PooledTable, paper: str = "a4") -> bytes:
    """Return the card as a PDF of half a sheet.

    Parameters
    ----------
    table : PooledTable
        Speeds that the data do not reach are left out of the card.
    paper : str
        The whole sheet that is halved: ``a4`` or ``letter``.

    Returns
    -------
    bytes
        One page, more only if the lines do not fit. The same table gives the same bytes.

    Raises
    ------
    ImplausibleError
        If there is no such paper.
    """
    size = paper_size(HALF_PAPERS, paper)
    lines = table_lines(table)
    known = [line for line in lines if line.answer is not None]
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
    if table.warning:
        sheet.write(table.warning, 10.0, gap=3.0, color=LIGHT["alarm"], fontweight="bold")
    unit = table.form.speed_unit
    first, second = ("CAS", "IAS") if table.form.from_cas else ("IAS", "CAS")
    headings = (
        (first, unit),
        (second, unit),
        (f"{second} of one aircraft", f"95 in 100 lie here, {unit}"),
        ("Altimeter", "add, ft"),
    )
    for (name, below), end in zip(headings, _COLUMNS, strict=True):
        place = sheet.margin + end * sheet.inner
        sheet.put(name, place, sheet.top, 8.5, ha="right", fontweight="bold")
        sheet.put(below, place, sheet.top + 11.0, 7.0, ha="right", color=LIGHT["quiet"])
    sheet.top += 24.0
    sheet.rule(sheet.top, weight=1.2, colour="ink")
    return sheet


def _row(sheet: Sheet, line: TableLine, table: PooledTable, places: int, row: float) -> None:
    assert line.answer is not None
    size = min(row * 0.58, 13.0)
    height = line.altitude_correction_ft
    cells = (
        (decimal(line.given, places), "bold"),
        (decimal(line.answer), "bold"),
        (_one_aircraft(line, table), "normal"),
        ("" if height is None else signed(height, 0), "normal"),
    )
    for (text, weight), end in zip(cells, _COLUMNS, strict=True):
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
