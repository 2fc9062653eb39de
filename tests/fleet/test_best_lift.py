from __future__ import annotations

import numpy as np
import pytest

from fleetcal.errors import FitError
from fleetcal.fleet.best_lift import best_lift
from fleetcal.fleet.pooled import fit_fleet
from tests.fleet.performance_fleet import CLIMB, GLIDE, best, flown

RATE, ANGLE = 1.5, 1.0
REACH = (0.125, 0.6)


@pytest.mark.parametrize("law", [CLIMB, GLIDE])
@pytest.mark.parametrize("power", [RATE, ANGLE])
def test_points_without_error_give_the_true_best_speed(law, power):
    rng = np.random.default_rng(1)
    fit = fit_fleet(flown(law, rng, spread=1e-9, u=1e-9), 2)
    found = best_lift(fit, 0, power, REACH)
    assert found.lift == pytest.approx(best(law, power), rel=1e-4)
    assert found.low <= found.lift <= found.high
    assert found.high - found.low < 5e-4  # the steps of the search


def covered(law, powers, trials):
    """Share of fleets whose interval holds the true best s, for each power."""
    truth = np.array([best(law, power) for power in powers])
    inside = np.zeros(len(powers))
    for seed in range(trials):
        fit = fit_fleet(flown(law, np.random.default_rng(seed)), 2)
        found = [best_lift(fit, 0, power, REACH) for power in powers]
        inside += [b.low <= s <= b.high for b, s in zip(found, truth, strict=True)]
    return inside / trials


@pytest.mark.long
@pytest.mark.parametrize(("law", "powers"), [(CLIMB, (RATE, ANGLE)), (GLIDE, (ANGLE,))])
def test_intervals_hold_the_true_best_speed_of_most_fleets(law, powers):
    share = covered(law, powers, 40)
    assert np.all(share >= 0.85), share  # three standard errors below 0.95


@pytest.mark.long
@pytest.mark.parametrize(("law", "powers"), [(CLIMB, (RATE, ANGLE)), (GLIDE, (ANGLE,))])
def test_intervals_hold_the_true_best_speed_in_95_of_100_fleets(law, powers):
    share = covered(law, powers, 250)
    error = (0.05 * 0.95 / 250) ** 0.5  # Monte Carlo, of a share of 0.95
    assert np.all((share >= 0.93 - error) & (share <= 0.97 + error)), share


def test_a_best_speed_outside_what_was_flown_is_not_told():
    points = flown(CLIMB, np.random.default_rng(3), low=0.12, high=0.2)
    with pytest.raises(FitError, match="end of what was flown"):
        best_lift(fit_fleet(points, 2), 0, ANGLE, (0.12, 0.2))


def test_where_points_set_no_limit_the_interval_is_open():
    points = flown(CLIMB, np.random.default_rng(4), aircraft=3, points=4, u=0.02)
    fit = fit_fleet(points, 2)
    try:
        found = best_lift(fit, 0, RATE, REACH)
    except FitError:
        pytest.fail("another seed is needed: the curve of this one has no best speed")
    assert found.low_open or found.high_open
