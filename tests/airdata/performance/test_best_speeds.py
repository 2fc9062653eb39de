from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.performance.best_point import best_point
from fleetcal.airdata.performance.best_speeds import climb_speeds, glide_speeds
from fleetcal.airdata.performance.fitted_polynomial import fit_polynomial
from fleetcal.errors import FitError

CLIMB = np.array([-900.0, 42.0, -0.24])  # ft/min over kt, exact by construction
SINK = np.array([950.0, -11.0, 0.10])
CLIMB_SPEEDS = np.arange(50.0, 131.0, 10.0)
SINK_SPEEDS = np.array([45.0, 50.0, 55.0, 62.0, 70.0, 80.0, 95.0, 110.0, 125.0])
KT_IN_FTMIN = 6076.12 / 60.0  # a nautical mile as the examples round it
TRIALS = 1500


def values(coefficients, speeds):
    return np.polynomial.polynomial.polyval(speeds, coefficients)


def test_climb_speeds_of_an_exact_polynomial():
    rate = fit_polynomial(CLIMB_SPEEDS, values(CLIMB, CLIMB_SPEEDS), 2)
    told = climb_speeds(rate)
    assert told.best_rate.x == pytest.approx(87.5, rel=1e-9)
    assert told.best_rate.value == pytest.approx(937.5, rel=1e-9)
    assert told.best_angle.x == pytest.approx(np.sqrt(3750.0), rel=1e-9)
    assert told.best_angle.value == pytest.approx(771.964230, rel=1e-9)
    angle = np.arcsin(told.best_angle.value / (told.best_angle.x * KT_IN_FTMIN))
    assert np.rad2deg(angle) == pytest.approx(7.150841, abs=5e-7)


def test_glide_speeds_of_an_exact_polynomial():
    told = glide_speeds(fit_polynomial(SINK_SPEEDS, values(SINK, SINK_SPEEDS), 2))
    assert told.least_sink.x == pytest.approx(55.0, rel=1e-9)
    assert told.least_sink.value == pytest.approx(647.5, rel=1e-9)
    assert told.best_glide.x == pytest.approx(97.467943, abs=5e-7)
    assert told.best_glide.value == pytest.approx(827.852622, abs=5e-7)
    ratio = told.best_glide.x * KT_IN_FTMIN / told.best_glide.value
    assert ratio == pytest.approx(11.922954, abs=5e-6)


def covered(coefficients, speeds, scatter, truth, choose, told_u, seed=5):
    """Share of fits to noisy points whose intervals hold each true speed, and the refused."""
    rng = np.random.default_rng(seed)
    inside = np.zeros(len(truth))
    refused = 0
    u = None if told_u is None else np.full(len(speeds), told_u)
    for _ in range(TRIALS):
        noisy = values(coefficients, speeds) + rng.normal(0.0, scatter, len(speeds))
        try:
            found = choose(fit_polynomial(speeds, noisy, 2, u))
        except FitError:
            refused += 1
            continue
        inside += [b.low <= v <= b.high for b, v in zip(vars(found).values(), truth, strict=True)]
    return inside / (TRIALS - refused), refused


@pytest.mark.parametrize("scatter", [8.0, 20.0])
def test_intervals_of_climb_speeds_hold_the_truth_in_95_of_100(scatter):
    # standard error of a share of 0.95 in 1,500: 0.006
    share, refused = covered(
        CLIMB, CLIMB_SPEEDS, scatter, (87.5, np.sqrt(3750.0)), climb_speeds, None
    )
    assert refused == 0
    assert np.all((share > 0.93) & (share < 0.97)), share


@pytest.mark.parametrize("scatter", [8.0, 20.0])
def test_intervals_of_glide_speeds_hold_the_truth_in_95_of_100(scatter):
    truth = (55.0, np.sqrt(9500.0))
    share, refused = covered(SINK, SINK_SPEEDS, scatter, truth, glide_speeds, None)
    # least sink lies 10 kt above the slowest point: now and then the curve has it below
    assert refused <= 0.02 * TRIALS
    assert np.all((share > 0.93) & (share < 0.97)), share


@pytest.mark.parametrize(("told_u", "highest"), [(10.0, 0.985), (5.0, 0.97)])
def test_stated_uncertainties_are_believed_unless_the_points_scatter_more(told_u, highest):
    # Believed when right they err to the safe side; told half as large as they are, the
    # scatter takes over and the limits are Student's.
    share, _ = covered(
        CLIMB, CLIMB_SPEEDS, 10.0, (87.5, np.sqrt(3750.0)), climb_speeds, told_u, seed=6
    )
    assert np.all((share > 0.93) & (share < highest)), share


def test_the_uncertainty_of_a_speed_is_what_it_scatters_by():
    rng = np.random.default_rng(8)
    found = []
    for _ in range(400):
        noisy = values(CLIMB, CLIMB_SPEEDS) + rng.normal(0.0, 5.0, len(CLIMB_SPEEDS))
        found.append(climb_speeds(fit_polynomial(CLIMB_SPEEDS, noisy, 2)).best_angle)
    stated = np.sqrt(np.mean([b.u_x**2 for b in found]))
    assert np.std([b.x for b in found]) == pytest.approx(stated, rel=0.1)  # 3.5 % by chance
    middle = np.median([b.high - b.low for b in found])
    assert middle == pytest.approx(2.0 * 2.447 * stated, rel=0.2)  # t of 6 degrees


def test_where_points_set_no_limit_the_interval_is_open():
    speeds = np.array([60.0, 70.0, 80.0, 90.0, 95.0])
    noise = np.array([30.0, -40.0, 35.0, -30.0, 20.0])
    found = best_point(fit_polynomial(speeds, values(CLIMB, speeds) + noise, 2), 0.0)
    assert (found.low, found.high) == (60.0, 95.0)
    assert found.low_open
    assert found.high_open


def test_a_best_speed_outside_what_was_flown_is_not_told():
    slow = np.arange(50.0, 80.0, 5.0)
    rate = fit_polynomial(slow, values(CLIMB, slow), 2)
    with pytest.raises(FitError, match="best above what was flown"):
        best_point(rate, 0.0)
    fast = np.arange(95.0, 125.0, 5.0)
    with pytest.raises(FitError, match="best below what was flown"):
        best_point(fit_polynomial(fast, values(CLIMB, fast), 2), 0.0)


def test_a_least_value_is_not_taken_for_a_largest():
    sink = fit_polynomial(SINK_SPEEDS, values(SINK, SINK_SPEEDS), 2)
    with pytest.raises(FitError, match="nowhere in it"):
        best_point(sink, 0.0)


@pytest.mark.parametrize(
    ("speeds", "order", "words"),
    [
        ([60.0, 70.0, 80.0], 2, "3 points do not determine"),
        ([60.0, 60.0, 80.0, 80.0, 60.0], 2, "5 points do not determine"),
        ([60.0, 70.0, np.nan, 80.0], 2, "not finite"),
        ([-60.0, 70.0, 75.0, 80.0], 2, "-60 is not above zero"),
        ([60.0, 70.0, 75.0, 80.0], 7, "order 7"),
    ],
)
def test_points_that_carry_no_curve_are_refused(speeds, order, words):
    with pytest.raises(FitError, match=words):
        fit_polynomial(speeds, np.ones(len(speeds)), order)
