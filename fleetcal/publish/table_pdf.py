"""The pooled table as a PDF: cautions and table, what stands behind it, then the figure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from fleetcal.publish.cautions import CAUTIONS
from fleetcal.publish.figure import draw_correction, figure_settings
from fleetcal.publish.figure_layout import Layout
from fleetcal.publish.letters import drawable
from fleetcal.publish.palette import LIGHT
from fleetcal.publish.paper import (
    PAPERS,
    Sheet,
    drawing,
    new_sheet,
    paper_bytes,
    paper_size,
    wrapped,
)
from fleetcal.publish.pooled_table import PooledTable, in_own_unit
from fleetcal.publish.table_columns import PrintedRow, printed_rows, table_columns
from fleetcal.publish.table_words import (
    LAST_COLUMN_HELP,
    READING_HELP,
    fact_words,
    held_for_words,
    relation_words,
    title_words,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_MARGIN: Final = 46.0
_ROW: Final = 14.0
_TEXT: Final = 9.0
_SMALL: Final = 8.0
#: Right-hand end of each column, as parts of the width between the margins.
_COLUMNS: Final = (0.13, 0.25, 0.36, 0.56, 0.77, 0.89, 1.0)
_COLUMNS_LIGHT: Final = (0.06, 0.20, 0.34, 0.48, 0.65, 0.81, 0.91, 1.0)
_FOOT: Final = 20.0


def table_pdf(table: PooledTable, paper: str = "a4") -> bytes:
    """Return the pooled table as a PDF.

    Args:
        paper: ``a4`` or ``letter``.

    Returns:
        The same table gives the same bytes.

    Raises:
        ImplausibleError: If there is no such paper.
    """
    size = paper_size(PAPERS, paper)
    with drawing():
        sheets = _table_sheets(table, size)
        _stand_behind(table, sheets, size)
        for number, sheet in enumerate(sheets, 1):
            _foot(sheet, table, number, len(sheets))
        figures = [sheet.figure for sheet in sheets]
        figures.append(_figure_page(table, size))
        return paper_bytes(figures, f"Position correction: {title_words(table)}", size)


def _table_sheets(table: PooledTable, size: tuple[float, float]) -> list[Sheet]:
    sheet = new_sheet(size, _MARGIN)
    sheet.write(
        "Position correction of airspeed and altimeter, pooled over a group of aircraft",
        _SMALL,
        gap=2.0,
        color=LIGHT["quiet"],
    )
    sheet.write(title_words(table), 16.0, fontweight="bold")
    issue = "" if table.issue is None else f" {table.issue.title}."
    sheet.write(f"{held_for_words(table)}{issue}", 10.0, gap=6.0)
    if table.warning:
        sheet.write(table.warning, 11.0, gap=6.0, color=LIGHT["alarm"], fontweight="bold")
    sheet.write(f"Before you use this: {' '.join(CAUTIONS)}", _SMALL, gap=6.0)
    for sentence in table.doubts:
        sheet.write(f"What speaks against it: {sentence}", _TEXT, gap=4.0)
    sheet.write(f"{relation_words(table.form)} {table.altitude_statement}", _TEXT, gap=4.0)
    sheets = [sheet]
    _headings(sheet, table)
    for row in printed_rows(table):
        if sheets[-1].left_over < (2.0 if row.bound else 1.0) * _ROW + _FOOT:
            sheets.append(new_sheet(size, _MARGIN))
            sheets[-1].write(f"{title_words(table)}, continued", _TEXT, gap=4.0)
            _headings(sheets[-1], table)
        _row(sheets[-1], row, table)
    sheets[-1].rule(sheets[-1].top - 2.0, weight=1.2, colour="ink")
    sheets[-1].top += 6.0
    return sheets


def _ends(table: PooledTable) -> tuple[float, ...]:
    return _COLUMNS if table.light_weight_kg is None else _COLUMNS_LIGHT


def _headings(sheet: Sheet, table: PooledTable) -> None:
    for column, end in zip(table_columns(table), _ends(table), strict=True):
        words = column.plain_heading.replace("Altimeter correction", "Altimeter")
        place = sheet.margin + end * sheet.inner
        sheet.put(words, place, sheet.top, _SMALL, ha="right", fontweight="bold")
        below = sheet.top + _SMALL * 1.3
        sheet.put(column.unit, place, below, _SMALL, ha="right", color=LIGHT["quiet"])
    sheet.top += 2.0 * _SMALL * 1.3 + 4.0
    sheet.rule(sheet.top, weight=1.2, colour="ink")
    sheet.top += 4.0


def _row(sheet: Sheet, row: PrintedRow, table: PooledTable) -> None:
    if row.bound:
        sheet.rule(sheet.top - 3.0, weight=1.2, colour="alarm")
    for number, (text, end) in enumerate(zip(row.cells, _ends(table), strict=False)):
        place = sheet.margin + end * sheet.inner
        weight = "bold" if number < 2 else "normal"
        sheet.put(text, place, sheet.top, _TEXT, ha="right", fontweight=weight)
    if row.reason:
        place = sheet.margin + _ends(table)[0] * sheet.inner + 14.0
        style = {"fontweight": "bold"} if row.bound else {"style": "italic"}
        (reason,) = wrapped(row.reason, _SMALL, sheet.inner * 0.85, most=1)
        colour = LIGHT["alarm" if row.bound else "quiet"]
        sheet.put(reason, place, sheet.top, _SMALL, color=colour, **style)
    sheet.top += _ROW
    sheet.rule(sheet.top - 3.0)


def _stand_behind(table: PooledTable, sheets: list[Sheet], size: tuple[float, float]) -> None:
    help_words = " ".join(f"The {name} {rest}" for name, rest in READING_HELP)
    said = [f"{help_words} {LAST_COLUMN_HELP}"]
    said += [f"Left out: {sentence}" for sentence in table.left_out]
    # The altitude stands above the table already.
    said += [f"{name}: {words}" for name, words in fact_words(table) if name != "Altitude"]
    for sentence in said:
        needed = len(wrapped(sentence, _SMALL, sheets[-1].inner)) * _SMALL * 1.35 + 3.0
        if sheets[-1].left_over < needed + _FOOT:
            sheets.append(new_sheet(size, _MARGIN))
        sheets[-1].write(sentence, _SMALL, gap=3.0)


def _foot(sheet: Sheet, table: PooledTable, number: int, count: int) -> None:
    mark = "" if table.issue is None else f", {table.issue.title}"
    withdrawn = " WITHDRAWN." if table.warning else ""
    words = drawable(
        f"{title_words(table)}{mark}.{withdrawn} Advisory only, not approved data.", 110
    )
    top = sheet.height - sheet.margin * 0.75
    sheet.put(words, sheet.margin, top, 7.0, color=LIGHT["quiet"])
    if count > 1:
        right = sheet.width - sheet.margin
        sheet.put(f"sheet {number}", right, top, 7.0, ha="right", color=LIGHT["quiet"])


def _figure_page(table: PooledTable, size: tuple[float, float]) -> Figure:
    """Return the figure on a page of its own, as wide as the paper."""
    import matplotlib.style

    layout = Layout(
        name="paper",
        width=size[0] - 2.0 * _MARGIN,
        plot_height=290.0,
        left=44.0,
        right=126.0,
        text=9,
        letters=88,
        labels_beside=True,
    )
    with matplotlib.style.context(["default", figure_settings(layout)]):
        figure = draw_correction(in_own_unit(table), layout)
    figure.set_facecolor("white")
    for axes in figure.axes:
        axes.set_facecolor("white")
    return figure
