"""The test card as plain text of one page."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Final

from fleetcal.plain_text import one_line, sentence
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
from fleetcal.wording import counted

_WIDE: Final = 92
_BOX: Final = 8


def flight_card_text(card: FlightCard) -> str:
    """Return the test card as text, 92 letters wide."""
    return "\n".join((*_lines(card), ""))


def _lines(card: FlightCard) -> Iterator[str]:
    yield one_line(f"TEST CARD  {card.airframe}   {card.type_name}, {card.group}")
    yield f"{counted(len(card.runs), 'run')}, about {card.minutes} minutes"
    yield from _paragraph("  ".join(f"{name} ________" for name in BEFORE_BOXES))
    yield from _paragraph("; ".join(f"{name} {figure}" for name, figure in set_words(card)))
    yield from _paragraph(heading_words(card))
    names = [name[:_BOX] for name, _ in (*LEG_BOXES, *RUN_BOXES)]
    head = f"{'heading':8}{'trk/GS':9}" + " ".join(f"{name:{_BOX}}" for name in names).rstrip()
    for number, run in enumerate(card.runs, 1):
        yield ""
        yield _run_line(run, number)
        yield head
        for place, leg in enumerate(run.legs):
            expected = f"{leg.track_deg:03d}/{leg.ground_speed_kt}"
            boxes = ["_" * _BOX] * len(LEG_BOXES)
            boxes += (["_" * _BOX] if place == 0 else [" " * _BOX]) * len(RUN_BOXES)
            yield f"{leg.heading_deg:03d}     {expected:9}{' '.join(boxes)}".rstrip()
    yield ""
    yield "spare rows"
    yield f"{'run':8}{'heading':9}" + " ".join(f"{name:{_BOX}}" for name in names).rstrip()
    for _ in range(SPARE_ROWS):
        yield f"{'_' * 7} {'_' * 8} {' '.join(['_' * _BOX] * len(names))}"
    yield ""
    for name, words in RULES:
        yield from _paragraph(f"{name}: {words}")
    yield from _paragraph(limit_words(card))
    yield from _paragraph(card.purpose)
    for note in card.notes:
        yield from _paragraph(sentence(note))
    yield from _paragraph(" ".join(CAUTIONS))


def _run_line(run: CardRun, number: int) -> str:
    calm = ", SMOOTH AIR ONLY" if run.smooth_air_only else ""
    return f"RUN {number}   HOLD {run.ias_kt} kt IAS   (helps: no. {run.helps}{calm})"


def _paragraph(words: str) -> list[str]:
    return textwrap.wrap(one_line(words), _WIDE)
