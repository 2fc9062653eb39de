"""The published page: one self-contained HTML document for one group or airframe."""

from __future__ import annotations

from typing import Any

from fleetcal.publish.band_words import (
    band_meanings,
    cautions_of,
    lines_help,
    subject_words,
)
from fleetcal.publish.palette import LIGHT
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_columns import printed_rows, table_columns
from fleetcal.publish.table_words import (
    fact_words,
    held_for_words,
    relation_words,
    title_words,
)
from fleetcal.publish.templating import render


def table_html(table: PooledTable, figure_svg: str, narrow_figure_svg: str | None = None) -> str:
    """Return the page of one table as HTML.

    Args:
        figure_svg: From `correction_figure_svg`.
        narrow_figure_svg: The same drawn narrow, shown instead on narrow screens.

    Returns:
        A whole HTML document that loads nothing from outside, for screens, telephones and paper.
        The same input gives the same bytes.
    """
    return render(
        "table.html",
        title=f"Position correction: {title_words(table)}",
        table=table_values(table),
        figure=page_drawing(figure_svg),
        narrow_figure="" if narrow_figure_svg is None else page_drawing(narrow_figure_svg),
    )


def table_values(table: PooledTable) -> dict[str, Any]:
    """Return what a page shows of a table, as plain values."""
    return {
        "title": title_words(table),
        "subject": subject_words(table),
        "cautions": cautions_of(table),
        "own": table.airframe,
        "held_for": held_for_words(table),
        "issue": "" if table.issue is None else table.issue.title,
        "warning": table.warning,
        "doubts": table.doubts,
        "relation": relation_words(table.form),
        "altitude": table.altitude_statement,
        "columns": table_columns(table),
        "rows": list(printed_rows(table)),
        "band_meanings": band_meanings(table),
        "lines_help": lines_help(table),
        "facts": fact_words(table),
        "left_out": table.left_out,
    }


def page_drawing(svg: str) -> str:
    """Return a drawing whose colours follow the page, from one in the light colours."""
    drawing = svg[svg.index("<svg") :].strip()
    for name, colour in LIGHT.items():
        drawing = drawing.replace(f": {colour}", f": var(--{name})")
    return drawing
