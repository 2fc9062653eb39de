"""What shape a departure has, in words."""

from __future__ import annotations

import pytest

from fleetcal.services.curves.position_error import POSITION_ERROR
from fleetcal.services.curves.standing_words import indicator_words, reason_words

pytestmark = pytest.mark.any_store("opens no store")

SHIFT = "a shift over the whole range"
GROWS, FADES = "a shift that grows with speed", "a shift that fades with speed"
TILT = "a tilt, one way when slow and the other when fast"


def words(when_slow: float, when_fast: float, *, outside: bool = True) -> str:
    return reason_words(
        ((60.0, when_slow), (90.0, 9.0), (120.0, when_fast)),
        others=5,
        p_value=0.01,
        adjusted=0.05,
        outside=outside,
        quantity=POSITION_ERROR,
    )


@pytest.mark.parametrize(
    ("when_slow", "when_fast", "shape"),
    [
        (2.0, 2.0, SHIFT),
        (0.5, 0.5, SHIFT),
        (-0.5, -0.5, SHIFT),
        (2.0, 3.0, SHIFT),
        (3.0, 2.0, SHIFT),
        (2.0, 3.1, GROWS),
        (-2.0, -3.1, GROWS),
        (0.0, 1.0, GROWS),
        (3.1, 2.0, FADES),
        (0.6, 0.2, FADES),
        (0.1, -0.1, TILT),
        (-3.0, 0.5, TILT),
    ],
)
def test_the_shape_follows_from_the_ends(when_slow: float, when_fast: float, shape: str) -> None:
    said = words(when_slow, when_fast)
    assert said.startswith(f"{shape}: ")
    assert said.removeprefix(f"{shape}: ") == words(when_slow, when_fast, outside=False)
    assert "9.0 kt" not in said
    assert "by chance in 1.0 % of cases" in said
    assert said.endswith("compared with 5 others")


def test_an_indicator_that_was_never_on_a_bench_is_named_with_its_tolerance() -> None:
    said = indicator_words(POSITION_ERROR, 2.25, 80.0)
    assert "never on a bench" in said
    assert said.endswith("by its tolerance may be wrong by 2.2 kt at 80 kt")
