"""The test card as one HTML document that prints on one page."""

from __future__ import annotations

from typing import Any, Final

from fleetcal.publish.flight_card import (
    BEFORE_BOXES,
    LEG_BOXES,
    MOST_RUNS,
    RULES,
    RUN_BOXES,
    SPARE_ROWS,
    FlightCard,
    heading_words,
    limit_words,
    set_words,
)
from fleetcal.publish.templating import render
from fleetcal.wording import counted

#: Height of the rows for so many runs, mm: fills the page of a letter and no more.
_ROWS: Final = {1: 9.5, 2: 9.5, 3: 9.5, 4: 7.6, 5: 6.2, 6: 5.4}
_RUN_SIZES: Final = {4: 28, 5: 23, 6: 18}
_PAPERS: Final = {"a4": "A4", "letter": "letter"}


def flight_card_html(card: FlightCard, paper: str = "a4") -> str:
    """Return the test card as HTML.

    Args:
        paper: ``a4`` or ``letter``.

    Returns:
        A whole document that loads nothing from outside.
    """
    values = {**card_style(len(card.runs), paper), **card_values(card)}
    return render("flight_card.html", **values)


def card_style(runs: int, paper: str = "a4") -> dict[str, Any]:
    """Return the sizes of a card with so many runs.

    Args:
        paper: ``a4`` or ``letter``.
    """
    return {
        "paper": _PAPERS[paper],
        "row_mm": _ROWS[runs],
        "run_pt": _RUN_SIZES.get(runs, 28),
        "heading_pt": 15 if runs < MOST_RUNS else 12,
    }


def card_values(card: FlightCard) -> dict[str, Any]:
    """Return what stands on a card."""
    return {
        "title": f"Test card: {card.airframe}",
        "card": card,
        "about": f"{counted(len(card.runs), 'run')}, about {card.minutes} min",
        "before_boxes": BEFORE_BOXES,
        "set_up": set_words(card),
        "headings": heading_words(card),
        "leg_boxes": LEG_BOXES,
        "run_boxes": RUN_BOXES,
        "spare_rows": SPARE_ROWS,
        "rules": RULES,
        "limits": limit_words(card),
    }
