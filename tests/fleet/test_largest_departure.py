"""The longest shadow on an arc: its length by brute force, its chance by sampling."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from fleetcal.fleet.largest_departure import largest_ratio, shadow_chance

COVARIANCES = [
    np.array([[1.0, 0.3], [0.3, 2.0]]),
    np.array([[1.0, 0.0], [0.0, 0.05]]),
    np.array([[0.02, -0.1], [-0.1, 1.0]]),
]
REACH = [(-0.1, 0.3), (-0.13, -0.05), (-0.3, 0.6)]


@pytest.mark.parametrize("covariance", COVARIANCES)
@pytest.mark.parametrize("reach", REACH)
def test_the_ratio_is_the_largest_over_all_speeds_flown(
    covariance: np.ndarray, reach: tuple[float, float]
) -> None:
    departures = np.random.default_rng(1).standard_normal((500, 2))
    t = np.linspace(*reach, 4001)
    z = np.stack([np.ones_like(t), t], axis=1)
    deviation = np.sqrt(np.einsum("ti,ij,tj->t", z, covariance, z))
    told, _ = largest_ratio(departures, np.broadcast_to(covariance, (500, 2, 2)), np.array(reach))
    np.testing.assert_allclose(
        told, np.max(np.abs(departures @ z.T) / deviation, axis=1), rtol=1e-5
    )


@pytest.mark.parametrize("covariance", COVARIANCES)
@pytest.mark.parametrize("reach", REACH)
def test_the_chance_is_what_sampling_finds(
    covariance: np.ndarray, reach: tuple[float, float]
) -> None:
    root = np.linalg.cholesky(covariance)
    draws = np.random.default_rng(2).standard_normal((200_000, 2)) @ root.T
    ratio, angle = largest_ratio(
        draws, np.broadcast_to(covariance, (200_000, 2, 2)), np.array(reach)
    )
    for beyond in (0.5, 1.0, 2.0, 3.0):
        found = float(np.mean(ratio > beyond))
        chance = float(shadow_chance(np.array(beyond), angle[0]))
        assert abs(found - chance) < 4.0 * np.sqrt(chance * (1.0 - chance) / 200_000)


def test_an_arc_without_width_is_one_normal_value_and_a_half_circle_is_chi_square_of_two() -> None:
    ratio = np.array([0.0, 0.7, 1.96, 4.0])
    np.testing.assert_allclose(
        shadow_chance(ratio, np.zeros(4)), 2.0 * stats.norm.sf(ratio), rtol=1e-12
    )
    np.testing.assert_allclose(
        shadow_chance(ratio, np.full(4, np.pi)), stats.chi2.sf(ratio**2, 2), rtol=1e-12
    )


def test_one_coefficient_is_judged_by_itself() -> None:
    ratio, angle = largest_ratio(np.array([[-3.0]]), np.array([[[4.0]]]), np.array([0.0, 0.2]))
    assert ratio[0] == pytest.approx(1.5)
    assert angle[0] == 0.0
