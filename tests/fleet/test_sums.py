"""Per-aircraft sums against whole matrices."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.sums import aircraft_sums
from tests.fleet.dense_model import error_covariance
from tests.fleet.fleet_maker import random_points


def _dense(points: FleetPoints, plane: int) -> tuple[np.ndarray, float]:
    mine = points.aircraft == plane
    t = points.x[mine] - 0.25
    w = np.column_stack([np.ones_like(t), t, t**2, points.y[mine]])
    r = error_covariance(points)[np.ix_(mine, mine)]
    return w.T @ np.linalg.inv(r) @ w, float(np.linalg.slogdet(r)[1])


@pytest.mark.parametrize("terms", [0, 1, 3])
def test_the_sums_of_each_aircraft_are_those_of_whole_matrices(terms: int) -> None:
    points = random_points(1, (7, 1, 4, 2, 9), terms=terms)
    sums = aircraft_sums(points)
    for plane in range(5):
        products, log_det = _dense(points, plane)
        np.testing.assert_allclose(sums.products[plane], products, rtol=1e-10)
        assert sums.log_det[plane] == pytest.approx(log_det, rel=1e-12)
    np.testing.assert_array_equal(sums.count, [7, 1, 4, 2, 9])


def test_a_sortie_number_used_by_two_aircraft_shares_no_error_between_them() -> None:
    points = random_points(2, (5, 5))
    same_number = FleetPoints(
        x=points.x,
        y=points.y,
        u_own=points.u_own,
        u_shared=points.u_shared,
        sortie=np.zeros(10, dtype=np.int64),
        aircraft=points.aircraft,
        group_of=points.group_of,
    )
    alone = same_number.without_aircraft({1})
    np.testing.assert_allclose(
        aircraft_sums(same_number).products[0], aircraft_sums(alone).products[0], rtol=1e-14
    )


def test_the_order_of_the_points_changes_nothing() -> None:
    points = random_points(3, (6, 3, 8), group_of=(1, 0, 1))
    shuffle = np.random.default_rng(4).permutation(len(points.x))
    shuffled = FleetPoints(
        x=points.x[shuffle],
        y=points.y[shuffle],
        u_own=points.u_own[shuffle],
        u_shared=points.u_shared[shuffle],
        sortie=points.sortie[shuffle],
        aircraft=points.aircraft[shuffle],
        group_of=points.group_of,
    )
    before, after = aircraft_sums(points), aircraft_sums(shuffled)
    np.testing.assert_allclose(after.products, before.products, rtol=1e-12)
    np.testing.assert_allclose(after.log_det, before.log_det, rtol=1e-12)
    np.testing.assert_array_equal(after.count, before.count)


def test_adding_a_sortie_touches_only_the_sums_of_its_aircraft() -> None:
    points = random_points(5, (6, 6, 6))
    first = points.sortie != points.sortie[points.aircraft == 1].max()
    fewer = FleetPoints(
        x=points.x[first],
        y=points.y[first],
        u_own=points.u_own[first],
        u_shared=points.u_shared[first],
        sortie=points.sortie[first],
        aircraft=points.aircraft[first],
        group_of=points.group_of,
    )
    whole, part = aircraft_sums(points), aircraft_sums(fewer)
    np.testing.assert_array_equal(whole.products[[0, 2]], part.products[[0, 2]])
    assert np.all(np.diag(whole.products[1]) > np.diag(part.products[1]))


@pytest.mark.parametrize("order", [0, 1, 2])
def test_sums_of_a_lower_order_drop_the_columns_and_keep_kappa(order: int) -> None:
    points = random_points(6, (5, 4))
    lower = aircraft_sums(points).with_order(order)
    full = aircraft_sums(points).products
    assert lower.products.shape == (2, order + 2, order + 2)
    np.testing.assert_array_equal(lower.products[:, :-1, :-1], full[:, : order + 1, : order + 1])
    np.testing.assert_array_equal(lower.products[:, -1, -1], full[:, 3, 3])


def test_points_without_some_aircraft_have_the_sums_of_the_others() -> None:
    points = random_points(7, (5, 4, 3, 6), group_of=(0, 1, 1, 0))
    left = aircraft_sums(points.without_aircraft({0, 2}))
    kept = aircraft_sums(points).select(np.array([1, 3]))
    np.testing.assert_allclose(left.products, kept.products, rtol=1e-13)
    np.testing.assert_array_equal(left.group_of, [1, 0])


def test_of_no_points_no_aircraft_has_a_sum() -> None:
    points = random_points(7, (5, 4)).without_aircraft({0, 1})
    sums = aircraft_sums(points)
    assert (sums.products.shape[0], len(sums.log_det), len(sums.count)) == (0, 0, 0)
