"""Where three airframes or more flew: the only speeds at which a curve is solved."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcal.services.curves.speed_grid import REACH_KT
from fleetcal.services.handbook.fitted_port import spans_flown

pytestmark = pytest.mark.any_store("opens no store")


def test_the_overlap_of_three_ranges_with_their_reach() -> None:
    assert spans_flown([(60.0, 120.0), (70.0, 110.0), (80.0, 130.0)]) == ((77.5, 112.5),)


def test_a_gap_that_only_two_flew_stays_a_gap() -> None:
    ranges = [(60.0, 130.0), (60.0, 130.0), (60.0, 80.0), (110.0, 130.0)]
    assert spans_flown(ranges) == ((57.5, 82.5), (107.5, 132.5))


def test_two_airframes_alone_have_no_span() -> None:
    assert spans_flown([(60.0, 120.0), (60.0, 120.0)]) == ()


@given(
    st.lists(
        st.tuples(st.integers(50, 150), st.integers(0, 60)).map(lambda r: (r[0], r[0] + r[1])),
        max_size=9,
    ),
    st.floats(40.0, 220.0),
)
def test_a_speed_is_in_a_span_exactly_if_three_reach_it(
    ranges: list[tuple[int, int]], speed: float
) -> None:
    flown = sum(low - REACH_KT <= speed <= high + REACH_KT for low, high in ranges)
    spans = spans_flown([(float(low), float(high)) for low, high in ranges])
    assert any(low <= speed <= high for low, high in spans) == (flown >= 3)
    assert list(spans) == sorted(spans)
