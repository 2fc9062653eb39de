"""Names for what was not described are short where people read them."""

from __future__ import annotations

import pytest

from fleetcal.cli.shown_names import in_shorter_cell, in_shorter_names
from fleetcal.store.undescribed import FIRST_DAY, undescribed

PARTS = ("type", "static source", "engine", "propeller")


@pytest.mark.parametrize("joint", [", ", " / "])
def test_what_one_airframe_leaves_open_is_named_once(joint: str) -> None:
    kind, *equipment = (undescribed(part, "C-07") for part in PARTS)
    group = joint.join(equipment)
    assert in_shorter_names(f"{group}: 6 points") == "equipment not described yet (C-07): 6 points"
    everything = in_shorter_names(f"{kind}, {group}, flaps up")
    assert everything == "type and equipment not described yet (C-07), flaps up"


def test_other_names_stay_as_they_are() -> None:
    mixed = "wing boom / engine not described yet (C-07) / two-blade fixed, on 2026-05-01"
    assert in_shorter_names(mixed) == mixed
    two = f"{undescribed('static source', 'C-07')} / {undescribed('engine', 'D-11')} / x"
    assert in_shorter_names(two) == two


@pytest.mark.parametrize("part", PARTS)
def test_a_cell_needs_no_tag(part: str) -> None:
    assert in_shorter_cell(undescribed(part, "C-07")) == "not described yet"
    assert in_shorter_cell("wing boom") == "wing boom"


def test_a_first_day_that_nobody_stated_is_no_day() -> None:
    day = FIRST_DAY.isoformat()
    assert in_shorter_cell(day) == "start"
    assert in_shorter_names(f"with wing boom, fitted on {day}.") == (
        "with wing boom, fitted from the start."
    )
    assert in_shorter_names(f"wing boom from {day}") == "wing boom from the start"
