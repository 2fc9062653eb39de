"""The card to keep in the aircraft: half a sheet of paper, figures large, words few."""

from __future__ import annotations

from math import floor
from typing import Final

from fleetcal.plain_text import outward, signed
from fleetcal.publish.band_words import from_group
from fleetcal.publish.cautions import SHORT_CAUTION
from fleetcal.publish.paper import ALARM, BOLD, HALF_PAPERS, QUIET, Paper, paper_size
from fleetcal.publish.paper_table import PaperTable
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_lines import TableLine, given_places, table_lines
from fleetcal.publish.table_words import held_for_words, title_words
from fleetcal.wording import decimal

_MARGIN: Final = 26.0
_HIGHEST_ROW: Final = 25.0
_LOWEST_ROW: Final = 12.0
_HEADINGS: Final = 26.1
_FOOT: Final = 62.0
_ROUNDING: Final = 0.01
_NEAR_INTEGER: Final = 1e-6
_FROM_GROUP: Final = "* "


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
    made = Paper(f"Card: {title_words(table)}", paper_size(HALF_PAPERS, paper), _MARGIN)
    lines = table_lines(table)
    known = [line for line in lines if line.answer is not None and not line.beyond]
    cells = [_cells(line, table, given_places(lines)) for line in known]
    _write_head(made, table)
    row = (made.left_over - _HEADINGS - _FOOT) / max(len(known), 1)
    row = min(max(row, _LOWEST_ROW), _HIGHEST_ROW)
    grid = PaperTable(
        paper=made,
        headings=_headings(table),
        rows=cells,
        row=row,
        letters=min(0.58 * row, 13.0),
        heading=8.5,
        below=7.0,
        foot=_FOOT - _ROUNDING,
        again=lambda: _write_head(made, table),
    )
    grid.begin()
    for line in cells:
        grid.write(line, bold=len(line) - 2)
    if not known:
        made.write("No speed was flown by enough aircraft.", 10.0)
    _write_foot(made, table)
    return made.content()


def _write_head(made: Paper, table: PooledTable) -> None:
    made.write(title_words(table), 13.0, BOLD)
    made.write(f"{held_for_words(table)} {table.altitude_statement}", 8.5, gap=3.0)
    if table.airframe is not None:
        made.write(" ".join(f"{words}." for words in table.airframe.rests_on), 8.5, gap=3.0)
    if table.limits:
        made.write(_limits(table), 8.5, BOLD, gap=3.0)
    if table.warning:
        made.write(table.warning, 10.0, ALARM, gap=3.0)


def _headings(table: PooledTable) -> list[tuple[str, str]]:
    """Return names and what stands below them; with two weights, the second speed twice."""
    unit, weight = table.form.speed_unit, f"at {table.weight_kg:.0f} kg"
    first, second = ("CAS", "IAS") if table.form.from_cas else ("IAS", "CAS")
    band = (f"{second}, another aircraft", f"of the group: 95 in 100, {unit}")
    if table.airframe is not None:
        band = (f"{second} of this aircraft", f"95 in 100 lie here, {unit}")
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


def _limits(table: PooledTable) -> str:
    """Return the limits in whole units, rounded down; lines above never exceed are left out."""
    known = ", ".join(
        f"{limit.name} {floor(table.form.printed(limit.usable_kt) + _NEAR_INTEGER)}"
        for limit in table.limits
    )
    return (
        f"Limits on this port, {table.form.speed_unit} IAS: {known}; where the manual's are lower "
        "they hold."
    )


def _cells(line: TableLine, table: PooledTable, places: int) -> list[str]:
    """Return the cells of a line: speeds, the light weight's where there is one, band, height."""
    height = line.row.altitude_correction_ft
    light = ["" if line.light is None else decimal(line.light)]
    return [
        f"{_mark(line, table)}{decimal(line.given, places)}",
        decimal(line.answer or 0.0),
        *(light if table.light_weight_kg is not None else []),
        _another_aircraft(line, table),
        "" if height is None else signed(height, 0),
    ]


def _mark(line: TableLine, table: PooledTable) -> str:
    """Return what marks a line that the airframe of the card has not flown."""
    return _FROM_GROUP if table.airframe is not None and line.from_group else ""


def _another_aircraft(line: TableLine, table: PooledTable) -> str:
    """Return the band of one aircraft as speeds, rounded outward: a pilot compares them."""
    if line.following is None:
        return ""
    base = 0.0 if table.form.from_cas else line.given
    low, high = (base + end for end in line.following)
    return outward(low, high)


def _only_for(table: PooledTable) -> str:
    if table.airframe is None:
        return (
            "Only for an aircraft with this static source, at this flap setting and about this "
            "weight."
        )
    tag = table.airframe.tag
    marked = f" {_FROM_GROUP}{tag} has not flown it: this is from its group."
    return (
        f"Only for {tag} with the static system and the indicator that it was flown with, at this "
        f"flap setting and about this weight.{marked if from_group(table) else ''}"
    )


def _write_foot(made: Paper, table: PooledTable) -> None:
    issue = "not a numbered issue" if table.issue is None else table.issue.title
    count = made.pdf.pages_count
    for number in made.pages():
        made.top = made.height - made.margin - _FOOT + 10.0
        made.write(
            f"{SHORT_CAUTION} The approved manual, the kit maker's instructions, local rules and "
            f"licensed practice come first. {_only_for(table)}",
            6.5,
            gap=2.0,
        )
        part = f", card {number} of {count}" if count > 1 else ""
        words = (
            f"{issue}; made on {table.made_on.isoformat()} by fleetcal {table.program_version}"
            f"{part}"
        )
        low = made.height - made.margin - 8.0
        made.put(made.fitted(words, 6.5, made.inner, QUIET), made.margin, low, 6.5, QUIET)
