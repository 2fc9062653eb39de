"""The report of one flight on one sheet of paper."""

from __future__ import annotations

import io
from typing import Final

from fleetcal.publish.answer_figure import answer_figure_height, answer_figure_on_paper
from fleetcal.publish.cautions import FLIGHT_CAUTIONS
from fleetcal.publish.flight_report import FlightReport
from fleetcal.publish.palette import LIGHT
from fleetcal.publish.paper import BOLD, PAPERS, QUIET, Paper, paper_size
from fleetcal.publish.paper_table import PaperTable

_MARGIN: Final = 46.0
_TEXT, _SMALL = 9.0, 8.0
_PLOT: Final = 130.0
_FOOT: Final = 10.0


def flight_report_pdf(report: FlightReport, paper: str = "a4") -> bytes:
    """Return the report as a PDF; the same report gives the same bytes.

    Args:
        paper: ``a4`` or ``letter``.

    Raises:
        ImplausibleError: If there is no such paper.
    """
    made = Paper(report.title, paper_size(PAPERS, paper), _MARGIN)
    made.write("What one flight says of airspeed and altimeter", _SMALL, QUIET, gap=2.0)
    made.write(report.title, 15.0, BOLD)
    made.write(" ".join(report.facts), _SMALL, QUIET, gap=6.0)
    for sentence in report.answer:
        made.write(sentence, 10.0, gap=1.5)
    made.top += 6.0
    _draw(made, report)
    _write_table(made, report)
    _write_each(made, "What is in doubt", report.doubts)
    _write_each(made, "Before you use this", (" ".join(FLIGHT_CAUTIONS),))
    top = made.height - 0.75 * made.margin
    words = f"{report.title}. Advisory only, not approved data."
    for _ in made.pages():
        made.put(made.fitted(words, 7.0, made.inner, QUIET), made.margin, top, 7.0, QUIET)
    return made.content()


def _draw(made: Paper, report: FlightReport) -> None:
    drawing = answer_figure_on_paper(report.speeds, report.speed_unit, made.inner, _PLOT)
    made.pdf.image(io.BytesIO(drawing), x=made.margin, y=made.top, w=made.inner)
    made.top += answer_figure_height(_PLOT) + 6.0


def _write_table(made: Paper, report: FlightReport) -> None:
    grid = PaperTable(
        paper=made,
        headings=report.headings,
        rows=report.rows,
        row=14.0,
        letters=_TEXT,
        heading=_SMALL,
        below=7.0,
        foot=_FOOT,
        again=lambda: made.write(f"{report.title}, continued", _TEXT, gap=4.0),
    )
    grid.begin()
    for row in report.rows:
        grid.write(row, bold=3)
    made.rule(made.top, weight=1.2, colour=LIGHT["ink"])
    made.top += 4.0
    made.write(report.help, _SMALL, gap=2.0)


def _write_each(made: Paper, heading: str, sentences: tuple[str, ...]) -> None:
    """Write sentences below a heading, on the next page where this one has no room."""
    if not sentences:
        return
    made.top += 5.0
    for place, sentence in enumerate(sentences):
        above = 1.4 * _TEXT if place == 0 else 0.0
        if made.left_over < above + made.needed(sentence, _SMALL) + _FOOT:
            made.new_page()
        if place == 0:
            made.write(heading, _TEXT, BOLD)
        made.write(sentence, _SMALL, gap=2.0)
