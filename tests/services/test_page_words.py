"""Advice of the command line, as it reads on a page."""

from __future__ import annotations

import re

import pytest

from fleetcal.services.flights.page_words import on_a_page


@pytest.mark.parametrize(
    ("words", "there"),
    [
        (
            "Say which with '--temperature-shows ambient' or '--temperature-shows probe'; else not",
            "Say which with 'The temperature shows' below; else not",
        ),
        ("give the day with --date YYYY-MM-DD", "give the day with 'Day' below"),
        (
            "State it once: 'fleetcal fleet temperature C-07 --shows ambient' or '--shows probe'.",
            "Say it with the aircraft, or for this flight with 'The temperature shows' below.",
        ),
        (
            "of a flight without legs '--solve-by flight' may tell something",
            "of a flight without legs 'Solved by: the entire flight' below may tell something",
        ),
        ("nothing of a command", "nothing of a command"),
    ],
)
def test_options_become_fields(words: str, there: str) -> None:
    assert on_a_page(words) == there


def test_no_field_is_named_with_dashes() -> None:
    advice = "give --weight-kg, --airframe, --declination-deg, --airspeed-from and --oat 8C"
    assert re.search(r"--[a-z]", on_a_page(advice)) is None
