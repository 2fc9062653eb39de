"""When another sortie is proposed."""

from __future__ import annotations

import pytest

from fleetcal.services.performance.weigh_sorties import proposed

pytestmark = pytest.mark.any_store("opens no store")


@pytest.mark.parametrize(
    ("now_kt", "left_kt", "number"),
    [
        (2.0, [1.0], 1),
        (2.0, [1.0, 0.8], 2),  # a fifth more than the 1 kt of one sortie
        (2.0, [1.0, 0.95], 1),  # a twentieth more only
        (2.0, [1.0, 0.8, 0.78], 2),
        (2.0, [1.0, 0.8, 0.6], 3),
        (2.0, [1.0, 0.92, 0.85], 3),  # two would not do, three do
        (0.3, [0.25, 0.21], 1),  # nearly twice as much, but nobody would see it
    ],
)
def test_another_sortie_is_proposed_where_it_takes_a_tenth_more_off_the_band(
    now_kt: float, left_kt: list[float], number: int
) -> None:
    assert proposed(now_kt, left_kt) == number
