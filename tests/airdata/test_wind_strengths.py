"""What is tried of the air, and the average over it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import cauchy, norm
from scipy.stats import t as student

from fleetcal.airdata.moving_wind import Winds
from fleetcal.airdata.wind_strengths import STILL, AirPrior, averaged, likeliest, likely
from tests.airdata.test_moving_wind import flight

PRIOR = AirPrior()


def weights(fits, log_prior):
    """Weight of each combination, summing to 1."""
    score = np.array([fit.score for fit in fits]) + np.array(log_prior)
    weight = np.exp(score - score.max())
    return weight / weight.sum()


def fitted(seed=1):
    winds = Winds(flight(seed))
    tried = PRIOR.tried()
    fits = [winds.fit(strength) for strength, _ in tried]
    return winds, tried, fits, weights(fits, [prior for _, prior in tried])


def test_every_combination_is_tried_once():
    tried = [strength for strength, _ in PRIOR.tried()]
    assert len(tried) == len(PRIOR.noise) * len(PRIOR.wander_kt) * len(PRIOR.drift_times)
    assert len(set(tried)) == len(tried)
    assert {strength for strength, _ in PRIOR.coarse()} <= set(tried)


def test_wander_is_what_comes_in_ten_minutes():
    strength, _ = AirPrior(noise=(1.0,), wander_kt=(2.0,), drift_times=(1.0,)).tried()[0]
    assert np.sqrt(600.0 * strength.walk_mps2_per_s) == pytest.approx(2.0 * 1852.0 / 3600.0)
    assert strength.drift_mps2 * 600.0 == pytest.approx(1852.0 / 3600.0)


def test_wander_and_drift_are_half_cauchy_on_a_grid_of_equal_ratios():
    # on such a grid the density by the logarithm counts: x times the density
    prior = AirPrior(noise=(1.0,), drift_times=(1.0,))
    found = np.array([log_prior for _, log_prior in prior.tried()])
    wander = np.array(prior.wander_kt)
    expected = cauchy.logpdf(wander, scale=prior.middle_wander_kt) + np.log(wander)
    np.testing.assert_allclose(found - found[0], expected - expected[0], atol=1e-9)
    prior = AirPrior(noise=(1.0,), wander_kt=(1.0,))
    found = np.array([log_prior for _, log_prior in prior.tried()])
    times = np.array(prior.drift_times)
    expected = cauchy.logpdf(times) + np.log(times)
    np.testing.assert_allclose(found - found[0], expected - expected[0], atol=1e-9)


def test_weights_sum_to_one_and_follow_score_and_prior():
    _, tried, fits, weight = fitted()
    assert weight.sum() == pytest.approx(1.0)
    first, second = np.argsort(weight)[-2:]
    ratio = fits[first].score + tried[first][1] - fits[second].score - tried[second][1]
    assert np.log(weight[first] / weight[second]) == pytest.approx(ratio)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("count", [3, 8, 40])
def test_no_combination_of_weight_is_passed_over(seed, count):
    winds, tried = Winds(flight(seed, count=count, groups=1)), PRIOR.tried()
    fits = [winds.fit(strength) for strength, _ in tried]
    all_weights = weights(fits, [prior for _, prior in tried])
    expected = dict(zip([strength for strength, _ in tried], all_weights, strict=True))
    strengths, found = likely(winds, tried)
    assert found.sum() == pytest.approx(1.0)
    np.testing.assert_allclose(found, [expected[one] for one in strengths], rtol=1e-5)
    assert sum(expected[one] for one in strengths) > 1.0 - 1e-5


def test_the_likeliest_has_the_greatest_weight():
    winds, tried, _, weight = fitted()
    assert likeliest(winds, tried) == tried[int(np.argmax(weight))][0]


def test_the_average_is_that_of_all_by_their_weights():
    winds, tried, fits, weight = fitted()
    found = averaged(winds, tried)
    kappa = np.array([fit.kappa for fit in fits])
    np.testing.assert_allclose(found.kappa, weight @ kappa, rtol=1e-4)
    within = np.tensordot(weight, [fit.covariance for fit in fits], axes=1)
    between = np.cov(kappa.T, aweights=weight, bias=True)
    np.testing.assert_allclose(found.covariance, within + between, rtol=1e-4)
    assert np.trace(between) > 1e-4 * np.trace(within)
    noise = np.sqrt(weight @ [strength.noise**2 for strength, _ in tried])
    assert found.noise == pytest.approx(noise, rel=1e-4)


def test_degrees_of_freedom_are_those_of_the_spread_of_the_variances():
    # of a scaled inverse chi-square: 2 mean^2 / variance of one over it
    winds, tried, fits, weight = fitted()
    found = averaged(winds, tried)
    one_over = 1.0 / np.array([np.diag(fit.covariance) for fit in fits])
    mean = weight @ one_over
    expected = 2.0 * mean**2 / (weight @ (one_over - mean) ** 2)
    np.testing.assert_allclose(found.freedom, expected, rtol=1e-3)
    assert np.isfinite(found.freedom).all()
    assert (found.freedom > 1.0).all()


def interval(fits, weight, group):
    """Half of what holds 95 % of the average of the normal distributions of all combinations."""
    kappa = np.array([fit.kappa[group] for fit in fits])
    size = np.sqrt([fit.covariance[group, group] for fit in fits])

    def above(share):
        def excess(value):
            return weight @ norm.cdf((value - kappa) / size) - share

        return brentq(excess, kappa.min() - 50.0 * size.max(), kappa.max() + 50.0 * size.max())

    return (above(0.975) - above(0.025)) / 2.0


# The variance is the mean one, which has in it already what Student's factor adds for a scatter
# that is not well known: few pieces state too much, never too little.
@pytest.mark.long
@pytest.mark.parametrize(("count", "low", "high"), [(3, 1.0, 4.0), (8, 1.0, 1.5), (40, 0.97, 1.1)])
def test_the_interval_of_student_is_not_below_that_of_the_average(count, low, high):
    prior = AirPrior()
    for seed in range(3):
        pieces = replace(flight(seed, count=count, groups=1), lasting_s=np.full(count, 0.0))
        winds, tried = Winds(pieces), prior.tried()
        fits = [winds.fit(strength) for strength, _ in tried]
        expected = interval(fits, weights(fits, [log_prior for _, log_prior in tried]), 0)
        found = averaged(winds, tried)
        stated = student.ppf(0.975, found.freedom[0]) * np.sqrt(found.covariance[0, 0])
        assert low < stated / expected < high


def test_one_combination_alone_still_has_finite_degrees_of_freedom():
    found = averaged(Winds(flight(1)), PRIOR.tried()[:1])
    assert np.isfinite(found.freedom).all()


def test_more_pieces_tell_the_strengths_better():
    few, many = (averaged(Winds(flight(5, count=n, groups=1)), PRIOR.tried()) for n in (8, 80))
    assert many.freedom[0] > 2.0 * few.freedom[0]


def test_a_still_wind_does_not_move():
    assert {strength.walk_mps2_per_s for strength, _ in STILL.tried()} == {
        (0.1 * 1852.0 / 3600.0) ** 2 / 600.0
    }
