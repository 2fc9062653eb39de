"""Quantiles of mixtures of normal distributions."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize, stats

from fleetcal.fleet.averaged import mixture_quantile


def by_brent(weight, mean, deviation, level):
    """The same by a general root finder."""
    spread = 14.0 * deviation
    return optimize.brentq(
        lambda x: float(weight @ stats.norm.cdf(x, mean, deviation)) - level,
        float(np.min(mean - spread)),
        float(np.max(mean + spread)),
        xtol=1e-13,
        rtol=1e-14,
    )


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("level", [0.001, 0.025, 0.5, 0.975])
def test_a_quantile_is_where_the_mixture_has_so_much_below_it(seed, level):
    rng = np.random.default_rng(seed)
    nodes = int(rng.integers(1, 400))
    weight = np.exp(-rng.exponential(8.0, nodes))
    weight /= weight.sum()
    mean = rng.normal(0.0, rng.choice([1e-6, 1.0, 50.0]), (nodes, 3))
    deviation = np.exp(rng.normal(0.0, rng.uniform(0.0, 2.0), (nodes, 3)))
    found = mixture_quantile(weight, mean, deviation, level)
    for i in range(3):
        expected = by_brent(weight, mean[:, i], deviation[:, i], level)
        assert found[i] == pytest.approx(expected, abs=1e-8 * float(np.ptp(mean) + deviation.max()))


def test_far_apart_and_very_unequal_parts_are_found_too():
    weight, mean = np.array([0.3, 0.7]), np.array([[0.0], [1000.0]])
    deviation = np.array([[1e-6], [5.0]])
    for level in (0.1, 0.299, 0.301, 0.9):
        expected = by_brent(weight, mean[:, 0], deviation[:, 0], level)
        found = mixture_quantile(weight, mean, deviation, level)
        assert found[0] == pytest.approx(expected, abs=1e-7)


def test_one_normal_distribution_gives_its_own_quantile():
    found = mixture_quantile(np.array([1.0]), np.array([[2.0]]), np.array([[3.0]]), 0.975)
    assert found[0] == pytest.approx(2.0 + 3.0 * 1.959963984540054, rel=1e-12)
