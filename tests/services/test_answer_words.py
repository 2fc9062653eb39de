"""The first sentences: what to add, and where an airframe stands, as a pilot reads them."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from fleetcal.services.curves.airframe_verdict import AirframeVerdict, DepartureRow
from fleetcal.services.curves.answer_words import (
    ANOTHER,
    MEAN,
    correction_words,
    standing_answer,
    standing_reasons,
)
from fleetcal.services.curves.position_error import POSITION_ERROR
from fleetcal.services.performance.answer_words import cruise_answer
from fleetcal.services.performance.climb import GLIDE

pytestmark = pytest.mark.any_store("opens no store")


@pytest.mark.parametrize(
    ("correction", "bands", "words"),
    [
        (
            2.9,
            [(MEAN, 2.4, 3.4), (ANOTHER, 1.5, 4.3)],
            "At 100 kt add 2.9 kt to the reading (the group's mean: 2.4 to 3.4 kt; another "
            "aircraft of the group: 1.5 to 4.3 kt).",
        ),
        (
            -2.9,
            [(MEAN, -3.4, -2.4)],
            "At 100 kt take 2.9 kt off the reading (the group's mean: 2.4 to 3.4 kt).",
        ),
        (
            -0.3,
            [(MEAN, -0.9, 0.3)],
            "At 100 kt take 0.3 kt off the reading (the group's mean: -0.9 to +0.3 kt).",
        ),
        (
            0.04,
            [(MEAN, -0.5, 0.5)],
            "At 100 kt the reading needs no correction (the group's mean: -0.5 to +0.5 kt).",
        ),
    ],
)
def test_what_to_add_or_take_off_is_said_with_its_bands(
    correction: float, bands: list[tuple[str, float, float]], words: str
) -> None:
    assert correction_words(100.0, correction, bands) == words


def verdict(word: str, departure: float | None = -1.5, half: float = 1.0, **more: Any) -> Any:
    rows: tuple[DepartureRow, ...] = ()
    if departure is not None:
        rows = tuple(
            DepartureRow(
                airframe="C-07",
                group="wing boom",
                speed_kt=speed,
                departure=departure,
                low=departure - half,
                high=departure + half,
            )
            for speed in (70.0, 140.0)
        )
    values = {
        "airframe": "C-07",
        "group": "wing boom",
        "verdict": word,
        "outside": word == "outside",
        "reason": "only 1 other airframe in the group; a verdict needs 3",
        "largest_departure": departure,
        "at_speed_kt": None if departure is None else 140.0,
        "p_value": None if departure is None else 0.257,
        "adjusted_p_value": None if departure is None else 1.0,
        "others": 5,
        "points": 12,
        "set_aside": False,
        "rows": rows,
    }
    return AirframeVerdict(**{**values, **more})


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (verdict("inside"), "C-07 reads like the 5 other airframes of its group (wing boom)."),
        (
            verdict("inside", half=3.0),
            "Nothing shows that C-07 differs from the 5 other airframes of its group (wing boom), "
            "but how far it lies from them is known to 3.0 kt only.",
        ),
        (
            verdict("outside", -5.0),
            "C-07 is outside its group (wing boom): it reads 5.0 kt faster than the group at "
            "140 kt.",
        ),
        (
            verdict("undecided", 2.5),
            "It cannot be told yet whether C-07 is outside its group (wing boom): it reads 2.5 kt "
            "slower than the group at 140 kt, and that may be chance.",
        ),
        (
            verdict("undecided", None, others=1),
            "C-07 cannot be judged yet: only 1 other airframe in the group; a verdict needs 3.",
        ),
        (
            verdict("set aside", -9.4, if_counted="outside"),
            "C-07 is set aside, as none of its points counts; if they counted, it would be "
            "outside: it reads 9.4 kt faster than the group at 140 kt.",
        ),
        (
            verdict("set aside", None, others=0),
            "C-07 is set aside, as none of its points counts.",
        ),
    ],
)
def test_where_an_airframe_stands_is_one_sentence(one: AirframeVerdict, words: str) -> None:
    assert standing_answer(POSITION_ERROR, one) == words


def test_another_quantity_has_its_own_words() -> None:
    assert standing_answer(GLIDE, verdict("inside", half=10.0)).startswith("C-07 sinks like ")


def test_a_plain_p_value_is_a_share_and_the_adjusted_one_is_not_called_a_chance() -> None:
    words = standing_reasons(POSITION_ERROR, verdict("inside"))
    assert "25.7 % depart as far by chance" in words
    assert "100" not in words
    assert standing_reasons(POSITION_ERROR, verdict("undecided", None)) == ""


@pytest.mark.parametrize(
    ("airframe", "words"),
    [
        ("C-07", "At 65 % and 4000 ft C-07 flies 112 kt true (its 95 % band goes beyond what"),
        (None, "At 65 % and 4000 ft the true airspeed is 112 kt (the group's mean: its 95 % band"),
    ],
)
def test_a_cruise_whose_band_goes_beyond_what_was_flown_says_so(
    airframe: str | None, words: str
) -> None:
    line = SimpleNamespace(
        tas_kt=112.0,
        power_pct=65.0,
        pressure_altitude_ft=4000.0,
        mean_low_kt=None,
        mean_high_kt=None,
        next_low_kt=None,
        next_high_kt=None,
    )
    table: Any = SimpleNamespace(lines=(line,), airframe=airframe)
    assert cruise_answer(table).startswith(words)
