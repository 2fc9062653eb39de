"""The figure of a watch: what it says for those who cannot see it, and how it is written."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import numpy as np
import pytest

from fleetcal.publish.watch_figure import watch_figure
from fleetcal.publish.watch_picture import DrawnChange, DrawnFlight, WatchPicture, dated


def flight(
    number: int, level: float = 0.0, *, judged: bool = True, odd: bool = False
) -> DrawnFlight:
    value = level + 0.3 * np.sin(number) + (4.0 if odd else 0.0)
    return DrawnFlight(
        number=number,
        day=f"2024-03-{number:02d}",
        value_kt=float(value),
        low_kt=float(value - 0.5),
        high_kt=float(value + 0.5),
        level_kt=level,
        allowed_low_kt=level - 1.8 if judged else None,
        allowed_high_kt=level + 1.8 if judged else None,
        odd=odd,
    )


def picture(title: str = "C-07: its flights with the wing boom") -> WatchPicture:
    flights = [flight(n, 0.0 if n < 8 else 3.0, odd=n == 4) for n in range(1, 15)]
    return WatchPicture(
        title=title,
        facts="Corrie 2, flaps up; at 95 kt IAS and 600 kg",
        verdict="C-07 reads 3.0 kt slower.",
        heading="correction to add, minus its own mean before the first change, kt",
        flights=tuple(flights),
        changes=(DrawnChange(8, 7, 9, "+3.0 kt"),),
        known=((10.5, "new propeller, 2024-03-11"),),
    )


@pytest.mark.long
def test_the_same_picture_gives_the_same_bytes_of_every_kind() -> None:
    begins = {"svg": b"<?xml", "png": b"\x89PNG", "pdf": b"%PDF"}
    for kind, begin in begins.items():
        drawn = watch_figure(picture(), kind)
        assert drawn.startswith(begin)
        assert watch_figure(picture(), kind) == drawn


def test_the_drawing_carries_words_for_those_who_cannot_see_it() -> None:
    root = ET.fromstring(watch_figure(picture("a < b & c"), "svg"))
    texts = ["".join(one.itertext()) for one in root.iter() if one.tag.endswith(("title", "desc"))]
    assert "a < b & c" in texts
    assert any("reads 3.0 kt slower" in text and "Advisory only" in text for text in texts)


def test_flights_changes_and_equipment_are_named() -> None:
    text = watch_figure(picture(), "svg").decode()
    for words in ("+3.0 kt", "new propeller, 2024-03-11", "own level", "hatched", "2024-03-14"):
        assert words in text
    lone = WatchPicture(
        title="C-07", facts="", verdict="Too few.", heading="", flights=(flight(1, judged=False),)
    )
    text = watch_figure(lone, "svg").decode()
    assert "what the others" not in text
    assert "hatched" not in text


def test_the_levels_run_from_change_to_change() -> None:
    assert picture().levels() == [(0.5, 7.5, 0.0), (7.5, 14.5, 3.0)]


@pytest.mark.parametrize(("count", "most"), [(1, 9), (9, 9), (10, 9), (100, 9)])
def test_the_last_flight_is_dated_and_no_more_than_fit(count: int, most: int) -> None:
    flights = [flight(1 + n % 28) for n in range(count)]
    shown = dated(flights, most)
    assert shown[-1] is flights[-1]
    assert 0 < len(shown) <= most


def test_small_scatter_is_drawn_small() -> None:
    quiet = WatchPicture(
        title="", facts="", verdict="", heading="", flights=(flight(1, judged=False),)
    )
    low, high = quiet.span_kt
    assert low < -1.5
    assert high > 1.5
