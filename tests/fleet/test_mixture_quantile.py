"""Quantiles of mixtures of normal distributions."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize, special, stats

from fleetcal.fleet.averaged import mixture_quantiles


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
    found = mixture_quantiles(weight, mean, deviation, [level])[0]
    for i in range(3):
        expected = by_brent(weight, mean[:, i], deviation[:, i], level)
        assert found[i] == pytest.approx(expected, abs=1e-8 * float(np.ptp(mean) + deviation.max()))


def test_far_apart_and_very_unequal_parts_are_found_too():
    weight, mean = np.array([0.3, 0.7]), np.array([[0.0], [1000.0]])
    deviation = np.array([[1e-6], [5.0]])
    for level in (0.1, 0.299, 0.301, 0.9):
        expected = by_brent(weight, mean[:, 0], deviation[:, 0], level)
        found = mixture_quantiles(weight, mean, deviation, [level])[0]
        assert found[0] == pytest.approx(expected, abs=1e-7)


def test_one_normal_distribution_gives_its_own_quantile():
    found = mixture_quantiles(np.array([1.0]), np.array([[2.0]]), np.array([[3.0]]), [0.975])[0]
    assert found[0] == pytest.approx(2.0 + 3.0 * 1.959963984540054, rel=1e-12)


def by_halving(weight, mean, deviation, level):
    """The same by halving until the interval is as short as numbers allow."""
    low, high = np.min(mean - 40.0 * deviation), np.max(mean + 40.0 * deviation)
    for _ in range(2000):
        middle = low + (high - low) / 2.0
        if middle in {low, high}:
            break
        below = float(weight @ special.ndtr((middle - mean) / deviation)) < level
        low, high = (middle, high) if below else (low, middle)
    return low


def nasty_mixtures(seed):
    """One node, ties, scales from 1e-150 to 1e150, one node that has nearly all weight."""
    rng = np.random.default_rng(seed)
    nodes = int(rng.choice([1, 2, 3, 60, 1200]))
    weight = np.exp(-rng.exponential(rng.choice([0.1, 8.0, 60.0]), nodes))
    weight /= weight.sum()
    scale = 10.0 ** rng.uniform(-150.0, 150.0) if seed % 3 == 0 else 1.0
    mean = rng.normal(0.0, rng.choice([0.0, 1e-9, 1.0, 1e3]), (nodes, 4))
    deviation = np.exp(rng.normal(0.0, rng.choice([0.0, 0.5, 3.0]), (nodes, 4)))
    if seed % 2:
        mean[:, 1], deviation[:, 1] = mean[0, 1], deviation[0, 1]  # all nodes the same
        mean[:, 2] = np.round(mean[:, 2])
    return weight, scale * mean, scale * deviation


@pytest.mark.parametrize("seed", range(60))
def test_quantiles_of_nasty_mixtures_are_those_of_halving_to_twelve_digits(seed):
    weight, mean, deviation = nasty_mixtures(seed)
    for level in (1e-4, 0.025, 0.5, 0.8, 0.975):
        found = mixture_quantiles(weight, mean, deviation, [level])[0]
        for i in range(mean.shape[1]):
            expected = by_halving(weight, mean[:, i], deviation[:, i], level)
            width = float(np.max(mean[:, i] + 12.0 * deviation[:, i])) - float(
                np.min(mean[:, i] - 12.0 * deviation[:, i])
            )
            near = 1e-12 if 0.025 <= level <= 0.975 else 1e-10  # far out the unseen weight shows
            assert abs(found[i] - expected) <= near * width, (level, i)
