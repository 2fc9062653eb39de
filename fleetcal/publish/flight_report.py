"""The report of one flight as one HTML document: answer, figure, table, doubts, cautions."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.publish.answer_figure import AnsweredSpeed, answer_figure_svg
from fleetcal.publish.cautions import FLIGHT_CAUTIONS
from fleetcal.publish.page import page_drawing
from fleetcal.publish.templating import render

_WIDE, _NARROW = 640.0, 330.0


@dataclass(frozen=True, kw_only=True)
class FlightReport:
    """What a report says, in words and numbers as they are printed.

    Attributes:
        title: Which flight.
        facts: How it was flown and read, in sentences.
        answer: What it says, the most important first.
        headings: Of the table: name and unit of each column.
        rows: Cells of the table, each row as long as the headings.
        help: How the table is to be read.
        doubts: What is in doubt, and what was not accepted.
        behind: What was supposed, and what else it would do.
        speeds: What the figure shows.
        speed_unit: Of the figure.
    """

    title: str
    facts: tuple[str, ...]
    answer: tuple[str, ...]
    headings: tuple[tuple[str, str], ...]
    rows: tuple[tuple[str, ...], ...]
    help: str
    doubts: tuple[str, ...]
    behind: tuple[str, ...]
    speeds: tuple[AnsweredSpeed, ...]
    speed_unit: str


def flight_report_html(report: FlightReport, flight_svg: str) -> str:
    """Return the report as HTML.

    Args:
        flight_svg: The figure of the flight.

    Returns:
        A document that loads nothing from outside, for screens, telephones and paper.
    """
    wide, narrow = (
        page_drawing(answer_figure_svg(report.speeds, report.speed_unit, width, name))
        for width, name in ((_WIDE, "answer"), (_NARROW, "answer-narrow"))
    )
    return render(
        "flight_report.html",
        title=report.title,
        report=report,
        cautions=FLIGHT_CAUTIONS,
        figure=wide,
        narrow_figure=narrow,
        flight_figure=page_drawing(flight_svg),
    )
