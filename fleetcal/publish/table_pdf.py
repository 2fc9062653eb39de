"""The pooled table as a PDF: cautions and table, what stands behind it, then the figure."""

from __future__ import annotations

import io
from typing import Final

from fleetcal.publish.band_words import (
    band_meanings,
    cautions_of,
    lines_help,
    subject_words,
)
from fleetcal.publish.figure import correction_figure
from fleetcal.publish.figure_layout import FigureLayout, frame_of
from fleetcal.publish.palette import LIGHT
from fleetcal.publish.paper import ALARM, BOLD, PAPERS, QUIET, Paper, paper_size
from fleetcal.publish.paper_table import PaperTable
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_columns import printed_rows, table_columns
from fleetcal.publish.table_words import (
    fact_words,
    held_for_words,
    relation_words,
    title_words,
)

_MARGIN: Final = 46.0
_TEXT: Final = 9.0
_SMALL: Final = 8.0
_FOOT: Final = 20.0
#: Facts that stand above the table already.
_ABOVE: Final = ("Altitude", "Rests on")


def table_pdf(table: PooledTable, paper: str = "a4") -> bytes:
    """Return the pooled table as a PDF.

    Args:
        paper: ``a4`` or ``letter``.

    Returns:
        The same table gives the same bytes.

    Raises:
        ImplausibleError: If there is no such paper.
    """
    title = title_words(table)
    made = Paper(f"Position correction: {title}", paper_size(PAPERS, paper), _MARGIN)
    _write_head(made, table)
    _write_table(made, table)
    _write_behind(made, table)
    _draw_figure(made, table)
    _write_foot(made, table)
    return made.content()


def _write_head(made: Paper, table: PooledTable) -> None:
    made.write(subject_words(table), _SMALL, QUIET, gap=2.0)
    made.write(title_words(table), 16.0, BOLD)
    issue = "" if table.issue is None else f" {table.issue.title}."
    made.write(f"{held_for_words(table)}{issue}", 10.0, gap=6.0)
    if table.warning:
        made.write(table.warning, 11.0, ALARM, gap=6.0)
    _write_answers(made, table)
    made.write(f"Before you use this: {' '.join(cautions_of(table))}", _SMALL, gap=6.0)
    for sentence in table.doubts:
        made.write(f"What speaks against it: {sentence}", _TEXT, gap=4.0)
    made.write(f"{relation_words(table.form)} {table.altitude_statement}", _TEXT, gap=4.0)


def _write_answers(made: Paper, table: PooledTable) -> None:
    """Write what the indicator of an airframe does, and what the table rests on."""
    if table.airframe is None:
        return
    for sentence in table.airframe.answers:
        made.write(sentence, 11.0, BOLD, gap=2.0)
    made.top += 3.0
    made.write(" ".join(f"{s}." for s in table.airframe.rests_on), _TEXT, gap=6.0)


def _write_table(made: Paper, table: PooledTable) -> None:
    def again() -> None:
        made.write(f"{title_words(table)}, continued", _TEXT, gap=4.0)

    columns, rows = table_columns(table), list(printed_rows(table))
    grid = PaperTable(
        paper=made,
        headings=[(_heading(column.plain_heading), column.unit) for column in columns],
        rows=[row.cells for row in rows],
        row=14.0,
        letters=_TEXT,
        heading=_SMALL,
        below=7.0,
        foot=_FOOT,
        again=again,
    )
    grid.begin()
    for row in rows:
        if row.reason:
            grid.write_reason(row.cells[0], row.reason, _SMALL, alarm=row.bound)
        else:
            grid.write(row.cells)
    made.rule(made.top, weight=1.2, colour=LIGHT["ink"])
    made.top += 8.0


def _heading(name: str) -> str:
    return "Altimeter" if name.startswith("Altimeter") else name


def _write_behind(made: Paper, table: PooledTable) -> None:
    help_words = " ".join(f"The {name} {rest}" for name, rest in band_meanings(table))
    sentences = [f"{help_words} {lines_help(table)}"]
    sentences += [f"Left out: {sentence}" for sentence in table.left_out]
    sentences += [f"{name}: {words}" for name, words in fact_words(table) if name not in _ABOVE]
    for sentence in sentences:
        if made.left_over < made.needed(sentence, _SMALL) + 3.0 + _FOOT:
            made.new_page()
        made.write(sentence, _SMALL, gap=3.0)


def _draw_figure(made: Paper, table: PooledTable) -> None:
    """Draw the figure over the whole width, on the next page if this one has no room for it."""
    layout = FigureLayout(
        name="paper",
        width=made.inner,
        plot_height=290.0,
        left=44.0,
        right=126.0,
        text=9,
        letters=88,
        labels_at_curves=True,
    )
    if made.left_over < frame_of(table, layout).height + _FOOT:
        made.new_page()
    drawing = correction_figure(table, layout, on_paper=True)
    made.pdf.image(io.BytesIO(drawing), x=made.margin, y=made.top, w=made.inner)


def _write_foot(made: Paper, table: PooledTable) -> None:
    mark = "" if table.issue is None else f", {table.issue.title}"
    withdrawn = " WITHDRAWN." if table.warning else ""
    words = f"{title_words(table)}{mark}.{withdrawn} Advisory only, not approved data."
    top = made.height - 0.75 * made.margin
    for number in made.pages():
        made.put(made.fitted(words, 7.0, 0.85 * made.inner, QUIET), made.margin, top, 7.0, QUIET)
        if made.pdf.pages_count > 1:
            made.put(f"sheet {number}", made.right, top, 7.0, QUIET, right=True)
