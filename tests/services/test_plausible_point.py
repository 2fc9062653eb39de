"""The gate that every point passes: what counts by itself, and what is doubted and why."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcal.errors import ImplausibleError
from fleetcal.records import Climb, Point, columns_of, values_of
from fleetcal.services.plausible_point import (
    HeldAgainst,
    doubt_of,
    doubted,
    last_day,
    require_flown,
    rows_to_look_at,
)
from tests.services.test_large_error import point
from tests.store.invented_rows import CLIMB, GLIDE

pytestmark = pytest.mark.any_store("opens no store")

HELD = HeldAgainst(type_name="Corrie 2", reference_kg=600.0, flown_on=date(2024, 6, 5))
USUAL = values_of(Point, point(1, 90.0, 91.0)) | {
    "weight_kg": 580.0,
    "u_kappa": 0.008,
    "oat_degc": 8.0,
    "tas_kt": 95.0,
    "pressure_altitude_ft": 3500.0,
}


def test_a_usual_point_is_not_doubted() -> None:
    assert doubt_of(USUAL, HELD) == ""


@pytest.mark.parametrize(
    ("odd", "words"),
    [
        ({"weight_kg": 1279.0}, "1279 kg on a 600 kg type (Corrie 2): are these pounds?"),
        ({"weight_kg": 58.0}, "58 kg on a 600 kg type (Corrie 2): no aircraft of that type"),
        ({"weight_kg": 5800.0}, "no aircraft of that type weighs so much"),
        ({"u_kappa": 1e-5}, "the uncertainty of kappa of 1e-05 is below 0.0005"),
        ({"u_kappa": 3.0}, "the uncertainty of kappa of 3 is above 0.5"),
        ({"kappa": 0.7, "tas_kt": None}, "kappa of 0.7 is above 0.65"),
        ({"kappa": -0.5, "tas_kt": None}, "kappa of -0.5 is below -0.45"),
        ({"vic_kt": 310.0}, "the airspeed of 310 kt is above 300 kt"),
        ({"pressure_altitude_ft": 45000.0}, "the pressure altitude of 45000 ft is above 40000 ft"),
        ({"oat_degc": 59.0}, "air of 59 °C at 3500 ft is 51 °C from the standard 8 °C"),
        (
            {"tas_kt": 180.0},
            "a true airspeed of 180 kt does not go with 90 kt indicated",
        ),
        ({"wind_speed_kt": 130.0}, "the wind of 130 kt is above 120 kt"),
    ],
)
def test_an_odd_value_is_doubted_by_its_name(odd: dict[str, Any], words: str) -> None:
    assert words in doubt_of(USUAL | odd, HELD)


@pytest.mark.parametrize(
    ("day", "technique", "words"),
    [
        (date(2999, 1, 1), "gps legs", "was still to come"),
        (date(1975, 5, 5), "gps legs", "before satellite positions served light aircraft (1990)"),
        (date(1975, 5, 5), "trailing static", ""),
        (date(1903, 12, 17), "trailing static", "is before 1930"),
    ],
)
def test_a_day_is_doubted_that_cannot_be_right(day: date, technique: str, words: str) -> None:
    found = doubt_of(USUAL | {"technique": technique}, HeldAgainst(flown_on=day))
    assert (words in found) if words else not found


def test_today_and_tomorrow_elsewhere_on_earth_may_have_been_flown_later_days_not() -> None:
    require_flown(date.today(), "log.csv")
    require_flown(last_day(), "log.csv")
    with pytest.raises(ImplausibleError, match=r"log.csv: .* is still to come"):
        require_flown(last_day() + timedelta(days=1), "log.csv")


def test_a_weight_is_held_against_nothing_where_the_reference_weight_is_only_supposed() -> None:
    assert doubt_of(USUAL | {"weight_kg": 2500.0}, HeldAgainst(flown_on=HELD.flown_on)) == ""


def test_what_somebody_did_not_accept_keeps_its_reason() -> None:
    odd = point(1, 310.0, 312.0)
    rejected = replace(odd, accepted=False, reason="static line loose")
    assert doubted([rejected], HELD) == (rejected,)
    (taken_back,) = doubted([odd], HELD)
    assert not taken_back.accepted
    assert "310 kt" in taken_back.reason


def test_climbs_pass_the_same_gate() -> None:
    assert doubted([CLIMB, GLIDE], HELD) == (CLIMB, GLIDE)
    values = values_of(Climb, CLIMB)
    assert "9000 ft/min is above 6000" in doubt_of(values | {"rate_ftmin": 9000.0}, HELD, Climb)
    assert "are these pounds" in doubt_of(values | {"weight_kg": 1279.0}, HELD, Climb)
    assert "°C from the standard" in doubt_of(values | {"oat_degc": 59.0}, HELD, Climb)


NUMBERS = [
    name for name, one in columns_of(Point).items() if one.kind is float and one.usual is not None
]


@given(
    name=st.sampled_from(NUMBERS),
    value=st.floats(-1e4, 1e5, allow_nan=False),
)
def test_a_block_of_rows_is_looked_at_wherever_one_row_is_doubted(name: str, value: float) -> None:
    low, high = columns_of(Point)[name].limits
    kept = float(np.clip(value, max(low, -1e4) + 1e-9, min(high, 1e5)))
    row = USUAL | {name: kept}
    block = {
        key: np.array([np.nan if one is None else one])
        for key, one in row.items()
        if columns_of(Point)[key].kind is float
    }
    looked_at = rows_to_look_at(block) == [0]
    assert looked_at or doubt_of(row, HeldAgainst(flown_on=HELD.flown_on)) == ""
