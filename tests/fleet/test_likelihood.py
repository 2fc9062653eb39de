"""Restricted likelihood from per-aircraft sums against whole matrices."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.fleet.likelihood import departure_columns, group_sums, lower_triangle, weigh
from fleetcal.fleet.points import Array
from fleetcal.fleet.sums import aircraft_sums
from tests.fleet.dense_model import dense_fit, error_covariance
from tests.fleet.fleet_maker import random_points

ONE_GROUP = random_points(11, (7, 3, 5, 6, 1))
TWO_GROUPS = random_points(12, (4, 6, 3, 5, 4, 7), group_of=(0, 1, 0, 1, 1, 0), terms=2)


def _roots(size: int) -> list[Array]:
    """Return L that are random, of rank one, and nothing at all."""
    rng = np.random.default_rng(13)
    entries = size * (size + 1) // 2
    full = [lower_triangle(rng.normal(0.0, 0.03, entries), size) for _ in range(4)]
    lame = lower_triangle(np.r_[0.02, np.zeros(entries - 1)], size)
    return [*full, lame, np.zeros((size, size))]


@pytest.mark.parametrize("points", [ONE_GROUP, TWO_GROUPS], ids=["one group", "two groups"])
@pytest.mark.parametrize("order", [0, 1, 2])
@pytest.mark.parametrize("phi", [1.0, 3.7])
def test_deviance_curve_and_covariance_are_those_of_whole_matrices(
    points, order: int, phi: float
) -> None:
    sums = aircraft_sums(points).with_order(order)
    for root in _roots(departure_columns(order)):
        solved = group_sums(sums, root, phi, points.groups)
        dense = dense_fit(points, order, root @ root.T, phi)
        assert solved.deviance == pytest.approx(dense.deviance, rel=1e-10)
        np.testing.assert_allclose(solved.beta.ravel(), dense.beta, rtol=1e-8, atol=1e-12)
        for g, block in enumerate(solved.covariance):
            own = slice(g * (order + 1), (g + 1) * (order + 1))
            np.testing.assert_allclose(block, dense.covariance[own, own], rtol=1e-8, atol=1e-15)


def test_the_misfit_is_the_weighted_sum_of_squares_about_each_curve() -> None:
    root = lower_triangle(np.array([0.02, -0.01, 0.05]), 2)
    solved = group_sums(aircraft_sums(TWO_GROUPS).with_order(1), root, 2.0, 2)
    dense = dense_fit(TWO_GROUPS, 1, root @ root.T, 2.0)
    residual = TWO_GROUPS.y - dense.x @ dense.beta
    owner = TWO_GROUPS.group_of[TWO_GROUPS.aircraft]
    for g in (0, 1):
        mine = owner == g
        v = dense.v[np.ix_(mine, mine)]
        assert solved.misfit[g] == pytest.approx(
            residual[mine] @ np.linalg.solve(v, residual[mine]), rel=1e-9
        )


def test_log_det_of_each_aircraft_is_that_of_its_whole_covariance() -> None:
    root = lower_triangle(np.array([0.03, 0.04, 0.02]), 2)
    _, log_det = weigh(aircraft_sums(ONE_GROUP), root, 1.5)
    r = error_covariance(ONE_GROUP)
    for plane in range(5):
        mine = ONE_GROUP.aircraft == plane
        z = np.column_stack([np.ones(mine.sum()), ONE_GROUP.x[mine] - 0.25])
        v = 1.5 * r[np.ix_(mine, mine)] + z @ root @ root.T @ z.T
        assert log_det[plane] == pytest.approx(np.linalg.slogdet(v)[1], rel=1e-11)


def test_an_aircraft_departs_by_level_alone_where_the_curve_is_a_constant() -> None:
    assert [departure_columns(order) for order in (0, 1, 2)] == [1, 2, 2]
