"""Best speeds of climbs flown light, brought to reference weight, free of noise."""

from __future__ import annotations

import pytest

from seed_demo.performance_truth import PLANTS, TURBO_PLANT, best_speeds_kt
from tests.fleet.simulations.carried_weight import ALTITUDE_FT, best_speeds

RATE = "best rate of climb"


def off(plant, tag, share, *, glides):
    found = best_speeds(plant, tag, share, glides=glides)[RATE]
    return found - best_speeds_kt(plant, tag, ALTITUDE_FT)[RATE]


@pytest.mark.parametrize(
    ("plant", "tag"),
    [(p, s.tag) for p in PLANTS for s in p.states],
    ids=[f"{p.propeller}, {s.tag}" for p in PLANTS for s in p.states],
)
def test_flying_light_does_not_move_the_best_rate_where_glides_tell_the_drag(plant, tag):
    at_reference = off(plant, tag, 1.0, glides=True)
    for share in (0.93, 0.85):
        assert abs(off(plant, tag, share, glides=True) - at_reference) < 0.25


def test_without_glides_the_thrust_given_still_leaves_half_a_knot_and_more():
    assert 0.4 < off(TURBO_PLANT, "continuous power", 0.93, glides=False) < 1.0
    assert abs(off(TURBO_PLANT, "continuous power", 0.93, glides=True)) < 0.15
