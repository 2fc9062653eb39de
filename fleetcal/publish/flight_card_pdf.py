"""The test card as one page of paper: large figures, boxes to write in, black on white."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from fleetcal.plain_text import sentence
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
from fleetcal.publish.paper import BOLD, PAPERS, Paper, paper_size
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
    made = Paper(f"Test card: {card.airframe}", paper_size(PAPERS, paper), _MARGIN)
    _write_top(made, card)
    _write_set_up(made, card)
    _write_runs(made, card)
    _write_below(made, card)
    return made.content()


def _write_top(made: Paper, card: FlightCard) -> None:
    about = f"{counted(len(card.runs), 'run')}, about {card.minutes} min"
    room = made.inner - made.width_of(about, 14.0, BOLD) - 14.0
    made.put(made.fitted(card.airframe, 26.0, room, BOLD), made.margin, made.top, 26.0, BOLD)
    made.put(about, made.right, made.top, 14.0, BOLD, right=True)
    where = made.fitted(f"{card.type_name}, {card.group}", 8.0, 0.75 * made.inner)
    made.put(where, made.right, made.top + 18.0, 8.0, right=True)
    made.top += 36.0
    width = made.inner / len(BEFORE_BOXES)
    for place, name in enumerate(BEFORE_BOXES):
        left = made.margin + place * width
        made.box(left, made.top, width, 30.0, _THIN)
        made.put(name, left + 3.0, made.top + 2.0, 7.5)
    made.top += 35.0


def _write_set_up(made: Paper, card: FlightCard) -> None:
    shares = (0.20, 0.25, 0.15, 0.18, 0.22)
    left = made.margin
    made.box(left, made.top, made.inner, 36.0, _THICK)
    for (name, figure), share in zip(set_words(card), shares, strict=True):
        room = share * made.inner - 8.0
        made.put(name, left + 5.0, made.top + 3.0, 8.0)
        wide = made.width_of(made.drawable(figure, 24), 14.0, BOLD)
        size = min(14.0, max(13.9 * room / max(wide, 1.0), 6.0))
        figure = made.fitted(figure, size, room, BOLD)
        made.put(figure, left + 5.0, made.top + 16.0, size, BOLD)
        left += share * made.inner
    made.top += 40.0
    made.write(heading_words(card), 8.5)


def _write_runs(made: Paper, card: FlightCard) -> None:
    made.top += 2.0
    boxes = _boxes(made)
    firsts = (("IAS to hold", "", 0.0), ("heading", "", _RUN), ("expect", "trk / GS", _HEADING))
    heads = [(name, unit, made.margin + left * made.inner + 3.0) for name, unit, left in firsts]
    for name, unit, left in (*heads, *((name, unit, left + 2.0) for name, unit, left in boxes)):
        made.put(name, left, made.top, 8.5, BOLD)
        made.put(made.fitted(unit, 7.0, 60.0), left, made.top + 10.0, 7.0)
    made.top += 21.0
    legs = sum(len(run.legs) for run in card.runs)
    gaps = 3.0 * (len(card.runs) + 1)
    row = min((made.left_over - _BELOW - gaps) / (legs + SPARE_ROWS), _HIGHEST_ROW)
    for number, run in enumerate(card.runs, 1):
        _write_run(made, run, number, row)
        made.top += 3.0
    _write_spare(made, row)


def _boxes(made: Paper) -> list[tuple[str, str, float]]:
    """Return name, unit and left edge of each box of a row."""
    first, middle = _EXPECTED * made.inner, _LEG_BOXES_END * made.inner
    leg = (middle - first) / len(LEG_BOXES)
    run = (made.inner - middle) / len(RUN_BOXES)
    placed = [(*box, made.margin + first + i * leg) for i, box in enumerate(LEG_BOXES)]
    return placed + [(*box, made.margin + middle + i * run) for i, box in enumerate(RUN_BOXES)]


def _write_run(made: Paper, run: CardRun, number: int, row: float) -> None:
    top, height, left = made.top, row * len(run.legs), made.margin
    made.box(left, top, _RUN * made.inner, height, _THICK)
    made.put(f"run {number}, helps no. {run.helps}", left + 5.0, top + 4.0, 8.5)
    size = min(31.0, 0.42 * height)
    middle = top + (height - size) / 2.0 - (3.0 if run.smooth_air_only else -1.0)
    made.put(str(run.ias_kt), left + 5.0, middle, size, BOLD)
    after_speed = left + 8.0 + made.width_of(str(run.ias_kt), size, BOLD)
    made.put("kt", after_speed, middle + 0.86 * (size - 10.0), 10.0)
    if run.smooth_air_only:
        made.put("smooth air only", left + 5.0, top + height - 13.0, 9.0, BOLD)
    letters = min(15.0, 0.8 * row)
    heading, expected = (left + edge * made.inner for edge in (_RUN, _HEADING))
    for place, leg in enumerate(run.legs):
        text = top + place * row + 0.46 * (row - letters)
        made.put(f"{leg.heading_deg:03d}", heading + 5.0, text, letters, BOLD)
        course = f"{leg.track_deg:03d} / {leg.ground_speed_kt}"
        made.put(course, expected + 2.0, text + 0.86 * (letters - 10.0), 10.0)
    _rule_off(made, row, len(run.legs), left + _LEG_BOXES_END * made.inner, [])


def _write_spare(made: Paper, row: float) -> None:
    """Draw empty rows for legs that are flown again; power and fuel a leg."""
    left, bottom = made.margin + 5.0, made.top + row * SPARE_ROWS
    made.put("spare rows", left, made.top + 4.0, 9.0)
    made.put("run, heading:", left, bottom - 13.0, 9.0)
    _rule_off(made, row, SPARE_ROWS, made.right, [_RUN, _HEADING])


def _rule_off(made: Paper, row: float, rows: int, end: float, edges: Sequence[float]) -> None:
    """Draw the lines between rows and boxes and around all, and move down past them."""
    top, height = made.top, row * rows
    made.box(made.margin, top, made.inner, height, _THICK)
    for place in range(1, rows):
        at = top + place * row
        made.line((made.margin + _RUN * made.inner, at), (end, at), _THIN)
    for left in [made.margin + edge * made.inner for edge in edges]:
        made.line((left, top), (left, top + height), _THIN)
    for name, _, left in _boxes(made):
        thick = name == RUN_BOXES[0][0] and not edges
        made.line((left, top), (left, top + height), _THICK if thick else _THIN)
    made.top += height


def _write_below(made: Paper, card: FlightCard) -> None:
    made.top += 3.0
    for name, words in RULES:
        made.put(name, made.margin, made.top, 9.5, BOLD)
        made.write(words, 9.5, indent=52.0)
    made.write(limit_words(card), 9.5, BOLD, gap=1.0)
    made.write(card.purpose, 7.5, gap=1.0)
    for note in card.notes:
        made.write(sentence(note), 7.5)
    made.write(" ".join(CAUTIONS), 6.5)
