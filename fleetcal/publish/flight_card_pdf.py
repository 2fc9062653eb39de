"""The test card as one page of paper: large figures, boxes to write in, black on white."""

from __future__ import annotations

from typing import Any, Final

from fleetcal.publish.cautions import CAUTIONS
from fleetcal.publish.flight_card import (
    BEFORE_BOXES,
    LEG_BOXES,
    RULES,
    RUN_BOXES,
    SPARE_ROWS,
    CardRun,
    FlightCard,
    heading_words,
    limit_words,
    set_words,
)
from fleetcal.publish.letters import drawable
from fleetcal.publish.paper import (
    PAPERS,
    Sheet,
    drawing,
    new_sheet,
    paper_bytes,
    paper_size,
    wrapped,
)
from fleetcal.publish.plain_text import sentence
from fleetcal.wording import counted

_MARGIN: Final = 28.0
_HIGHEST_ROW: Final = 27.0
#: Ends of the columns, as parts of the width: run, heading, expected, boxes of a leg, of a run.
_RUN: Final = 0.17
_HEADING: Final = 0.25
_EXPECTED: Final = 0.37
_LEG_BOXES_END: Final = 0.84
_THICK: Final = 1.4
_THIN: Final = 0.6
#: Height of what stands below the boxes.
_BELOW: Final = 172.0


def flight_card_pdf(card: FlightCard, paper: str = "a4") -> bytes:
    """Return the test card as a PDF of one page.

    Args:
        paper: ``a4`` or ``letter``.

    Returns:
        The same card gives the same bytes.

    Raises:
        ImplausibleError: If there is no such paper.
    """
    size = paper_size(PAPERS, paper)
    with drawing():
        sheet = new_sheet(size, _MARGIN)
        _top(sheet, card)
        _runs(sheet, card)
        _below(sheet, card)
        return paper_bytes([sheet.figure], f"Test card: {card.airframe}", size)


def _top(sheet: Sheet, card: FlightCard) -> None:
    name = drawable(card.airframe, 14)
    sheet.put(name, sheet.margin, sheet.top, 26.0, fontweight="bold")
    right = sheet.width - sheet.margin
    about = f"{counted(len(card.runs), 'run')}, about {card.minutes} min"
    sheet.put(about, right, sheet.top, 14.0, ha="right", fontweight="bold")
    where = wrapped(f"{card.type_name}, {card.group}", 8.0, sheet.inner * 0.75, most=1)[0]
    sheet.put(where, right, sheet.top + 18.0, 8.0, ha="right")
    sheet.top += 36.0
    _before_boxes(sheet)
    _set_up(sheet, card)


def _before_boxes(sheet: Sheet) -> None:
    width = sheet.inner / len(BEFORE_BOXES)
    for place, name in enumerate(BEFORE_BOXES):
        left = sheet.margin + place * width
        _box(sheet, left, sheet.top, width=width, height=30.0, weight=_THIN)
        sheet.put(name, left + 3.0, sheet.top + 2.0, 7.5)
    sheet.top += 35.0


def _set_up(sheet: Sheet, card: FlightCard) -> None:
    shares = (0.20, 0.25, 0.15, 0.18, 0.22)
    left = sheet.margin
    _box(sheet, left, sheet.top, width=sheet.inner, height=36.0, weight=_THICK)
    for (name, figure), share in zip(set_words(card), shares, strict=True):
        width = share * sheet.inner
        sheet.put(name, left + 5.0, sheet.top + 3.0, 8.0)
        size = min(14.0, 1.55 * (width - 8.0) / max(len(figure), 1))
        figure = drawable(figure, 24)
        sheet.put(figure, left + 5.0, sheet.top + 16.0, size, fontweight="bold")
        left += width
    sheet.top += 40.0
    for line in wrapped(heading_words(card), 8.5, sheet.inner):
        sheet.put(line, sheet.margin, sheet.top, 8.5)
        sheet.top += 11.5


def _runs(sheet: Sheet, card: FlightCard) -> None:
    _headings(sheet)
    legs = sum(len(run.legs) for run in card.runs)
    gaps = 3.0 * (len(card.runs) + 1)
    row = min((sheet.left_over - _BELOW - gaps) / (legs + SPARE_ROWS), _HIGHEST_ROW)
    for number, run in enumerate(card.runs, 1):
        _run(sheet, run, number, row)
        sheet.top += 3.0
    _spare(sheet, row)


def _spare(sheet: Sheet, row: float) -> None:
    """Draw empty rows for legs that are flown again; power and fuel a leg."""
    top, height = sheet.top, row * SPARE_ROWS
    _box(sheet, sheet.margin, top, width=sheet.inner, height=height, weight=_THICK)
    sheet.put("spare rows", sheet.margin + 5.0, top + 4.0, 9.0)
    sheet.put("run, heading:", sheet.margin + 5.0, top + height - 13.0, 9.0)
    edges = [_RUN, _HEADING]
    for left in (*(sheet.margin + edge * sheet.inner for edge in edges), *_edges(sheet)):
        _line(sheet, left, top, right=left, bottom=top + height, weight=_THIN)
    for place in range(1, SPARE_ROWS):
        at = top + place * row
        _line(
            sheet,
            sheet.margin + _RUN * sheet.inner,
            at,
            right=sheet.width - sheet.margin,
            bottom=at,
            weight=_THIN,
        )
    sheet.top += height


def _edges(sheet: Sheet) -> list[float]:
    return [left for _, left in _boxes(sheet)]


def _headings(sheet: Sheet) -> None:
    sheet.top += 2.0
    for words, left in (("IAS to hold", 0.0), ("heading", _RUN), ("expect", _HEADING)):
        sheet.put(words, sheet.margin + left * sheet.inner + 3.0, sheet.top, 8.5, fontweight="bold")
    sheet.put("trk / GS", sheet.margin + _HEADING * sheet.inner + 3.0, sheet.top + 10.0, 7.0)
    for (name, unit), left in _boxes(sheet):
        sheet.put(name, left + 2.0, sheet.top, 8.5, fontweight="bold")
        sheet.put(unit, left + 2.0, sheet.top + 10.0, 7.0)
    sheet.top += 21.0


def _boxes(sheet: Sheet) -> list[tuple[tuple[str, str], float]]:
    """Return each box's name and left edge."""
    first, middle = _EXPECTED * sheet.inner, _LEG_BOXES_END * sheet.inner
    leg = (middle - first) / len(LEG_BOXES)
    run = (sheet.inner - middle) / len(RUN_BOXES)
    placed = [(box, sheet.margin + first + i * leg) for i, box in enumerate(LEG_BOXES)]
    return placed + [(box, sheet.margin + middle + i * run) for i, box in enumerate(RUN_BOXES)]


def _run(sheet: Sheet, run: CardRun, number: int, row: float) -> None:
    top, height = sheet.top, row * len(run.legs)
    left = sheet.margin
    _box(sheet, left, top, width=sheet.inner, height=height, weight=_THICK)
    _box(sheet, left, top, width=_RUN * sheet.inner, height=height, weight=_THICK)
    sheet.put(f"run {number}, helps no. {run.helps}", left + 5.0, top + 4.0, 8.5)
    size = min(34.0, 0.42 * height)
    middle = top + (height - size) / 2.0 - (3.0 if run.smooth_air_only else -1.0)
    sheet.put(str(run.ias_kt), left + 5.0, middle, size, fontweight="bold")
    beside = left + 10.0 + 0.64 * size * len(str(run.ias_kt))
    sheet.put("kt", beside, middle + size * 0.55, 10.0)
    if run.smooth_air_only:
        foot = top + height - 13.0
        sheet.put("smooth air only", left + 5.0, foot, 9.0, fontweight="bold")
    letters = min(15.0, 0.8 * row)
    for place, leg in enumerate(run.legs):
        at = top + place * row
        text = at + 0.46 * (row - letters)
        heading = sheet.margin + _RUN * sheet.inner
        sheet.put(f"{leg.heading_deg:03d}", heading + 5.0, text, letters, fontweight="bold")
        expected = f"{leg.track_deg:03d} / {leg.ground_speed_kt}"
        sheet.put(expected, sheet.margin + _HEADING * sheet.inner + 2.0, text + 0.2 * letters, 10.0)
        if place:
            end = _LEG_BOXES_END * sheet.inner
            _line(sheet, heading, at, right=sheet.margin + end, bottom=at, weight=_THIN)
    for box, at_left in _boxes(sheet):
        weight_of_line = _THICK if box == RUN_BOXES[0] else _THIN
        _line(sheet, at_left, top, right=at_left, bottom=top + height, weight=weight_of_line)
    sheet.top += height


def _below(sheet: Sheet, card: FlightCard) -> None:
    sheet.top += 3.0
    for name, words in RULES:
        sheet.put(name, sheet.margin, sheet.top, 9.5, fontweight="bold")
        for line in wrapped(words, 9.5, sheet.inner - 52.0):
            sheet.put(line, sheet.margin + 52.0, sheet.top, 9.5)
            sheet.top += 12.0
    sheet.write(limit_words(card), 9.5, gap=1.0, fontweight="bold")
    sheet.write(card.purpose, 7.5, gap=1.0)
    for note in card.notes:
        sheet.write(f"{sentence(note)}", 7.5)
    sheet.write(" ".join(CAUTIONS), 6.5)


def _box(sheet: Sheet, left: float, top: float, width: float, height: float, weight: float) -> None:
    from matplotlib.patches import Rectangle

    sheet.figure.add_artist(
        Rectangle(
            (left / sheet.width, 1.0 - (top + height) / sheet.height),
            width / sheet.width,
            height / sheet.height,
            fill=False,
            linewidth=weight,
            edgecolor="black",
        )
    )


def _line(
    sheet: Sheet, left: float, top: float, right: float, bottom: float, weight: float
) -> None:
    from matplotlib.lines import Line2D

    across = (left / sheet.width, right / sheet.width)
    down = (1.0 - top / sheet.height, 1.0 - bottom / sheet.height)
    style: dict[str, Any] = {"linewidth": weight, "color": "black"}
    sheet.figure.add_artist(Line2D(across, down, **style))
