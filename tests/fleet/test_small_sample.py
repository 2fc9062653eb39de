"""Kenward-Roger covariance and degrees of freedom against the published formulae.

M. G. Kenward, J. H. Roger, Biometrics 53 (1997), 983-997: section 2 with
W = inverse expected information, P_i, Q_ij and Phi_A as named there (R_ij is
zero, V being linear in its parameters; formulae from memory). Everything
below is done with whole N x N matrices.
"""

from __future__ import annotations

import numpy as np
import pytest
from dense_model import dense_fit, departure_covariance, error_covariance
from fleet_maker import fleet_points, random_points
from published_data import BCG_V, BCG_Y

from fleetcal.fleet.likelihood import departure_columns, group_sums, lower_triangle
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.pooled import fit_fleet
from fleetcal.fleet.small_sample import Derivatives, departure_units, derivatives
from fleetcal.fleet.sums import aircraft_sums

ONE_GROUP = random_points(21, (6, 3, 5, 4, 2))
TWO_GROUPS = random_points(22, (4, 5, 3, 4, 6, 2), group_of=(0, 1, 0, 1, 1, 0), terms=2)
CASES = [
    pytest.param(points, order, free, id=f"{name}, order {order}, phi {'free' if free else 'held'}")
    for name, points in (("one group", ONE_GROUP), ("two groups", TWO_GROUPS))
    for order in (0, 1, 2)
    for free in (False, True)
]


def _ours(points: FleetPoints, order: int, free: bool) -> tuple[Derivatives, Array, float]:
    size = departure_columns(order)
    root = lower_triangle(np.array([0.02, -0.015, 0.05])[: size * (size + 1) // 2], size)
    phi = 1.8 if free else 1.0
    sums = aircraft_sums(points).with_order(order)
    solved = group_sums(sums, root, phi, points.groups)
    spread = root @ root.T
    return derivatives(sums, solved, spread, phi, free), spread, phi


def _slopes_of_v(points: FleetPoints, size: int, free: bool) -> list[Array]:
    slopes = [departure_covariance(points, unit) for unit in departure_units(size)]
    return [*slopes, error_covariance(points)] if free else slopes


def _published(
    points: FleetPoints, order: int, spread: Array, phi: float, free: bool
) -> tuple[Array, Array]:
    """Return W and Phi_A."""
    dense = dense_fit(points, order, spread, phi)
    x, v, big_phi = dense.x, dense.v, dense.covariance
    inverse = np.linalg.inv(v)
    slopes = _slopes_of_v(points, len(spread), free)
    inverse_slopes = [-inverse @ s @ inverse for s in slopes]
    p = [x.T @ s @ x for s in inverse_slopes]
    q = [[x.T @ a @ v @ b @ x for b in inverse_slopes] for a in inverse_slopes]
    count = range(len(slopes))
    information = np.array(
        [
            [
                np.trace(inverse_slopes[i] @ v @ inverse_slopes[j] @ v)
                - np.trace(2.0 * big_phi @ q[i][j] - big_phi @ p[i] @ big_phi @ p[j])
                for j in count
            ]
            for i in count
        ]
    )
    w = np.linalg.inv(information / 2.0)
    middle = sum(w[i, j] * (q[i][j] - p[i] @ big_phi @ p[j]) for i in count for j in count)
    return w, big_phi + 2.0 * big_phi @ middle @ big_phi


@pytest.mark.parametrize(("points", "order", "free"), CASES)
def test_parameter_covariance_is_the_inverse_of_the_published_information(
    points: FleetPoints, order: int, free: bool
) -> None:
    ours, spread, phi = _ours(points, order, free)
    w, _ = _published(points, order, spread, phi, free)
    np.testing.assert_allclose(ours.parameter_covariance, w, rtol=1e-6, atol=1e-12)


@pytest.mark.parametrize(("points", "order", "free"), CASES)
def test_corrected_covariance_is_the_published_one(
    points: FleetPoints, order: int, free: bool
) -> None:
    ours, spread, phi = _ours(points, order, free)
    _, corrected = _published(points, order, spread, phi, free)
    for g, block in enumerate(ours.covariance):
        own = slice(g * (order + 1), (g + 1) * (order + 1))
        np.testing.assert_allclose(block, corrected[own, own], rtol=1e-6)
    plain = dense_fit(points, order, spread, phi).covariance
    assert np.all(np.linalg.eigvalsh(ours.covariance[0] - plain[: order + 1, : order + 1]) > -1e-12)


@pytest.mark.parametrize(("points", "order", "free"), CASES)
def test_degrees_of_freedom_are_two_variances_squared_over_the_variance_of_the_variance(
    points: FleetPoints, order: int, free: bool
) -> None:
    ours, spread, phi = _ours(points, order, free)
    w, _ = _published(points, order, spread, phi, free)
    x = np.array([1.0, 0.2, 0.04])[: order + 1]
    z = x[: len(spread)]

    def mean_variance(parameters: Array) -> float:
        entries = parameters[: len(parameters) - free]
        d = sum(e * unit for e, unit in zip(entries, departure_units(len(spread)), strict=True))
        scale = parameters[-1] if free else 1.0
        block = dense_fit(points, order, np.asarray(d), scale).covariance
        return float(x @ block[: order + 1, : order + 1] @ x)

    def next_variance(parameters: Array) -> float:
        entries = parameters[: len(parameters) - free]
        d = sum(e * unit for e, unit in zip(entries, departure_units(len(spread)), strict=True))
        return mean_variance(parameters) + float(z @ d @ z)

    at = np.r_[spread[np.tril_indices(len(spread))], [phi] if free else []]
    gradients = {
        mean_variance: ours.mean_gradient(0, x),
        next_variance: ours.mean_gradient(0, x) + ours.spread_gradient(z),
    }
    for variance, ours_gradient in gradients.items():
        slope = _numerical_slope(variance, at)
        np.testing.assert_allclose(ours_gradient, slope, rtol=1e-5, atol=1e-9)
        expected = 2.0 * variance(at) ** 2 / float(slope @ w @ slope)
        assert ours.degrees_of_freedom(variance(at), ours_gradient) == pytest.approx(
            max(expected, 1.0), rel=1e-4
        )


def _numerical_slope(variance, at: Array) -> Array:
    steps = 1e-4 * np.maximum(np.abs(at), 1e-5) * np.eye(len(at))
    return np.array([(variance(at + s) - variance(at - s)) / (2.0 * s.sum()) for s in steps])


def test_a_balanced_fleet_needs_no_correction_and_has_one_degree_less_than_aircraft() -> None:
    # exact: with equal points on every aircraft the mean has a t distribution
    rng = np.random.default_rng(23)
    plane = np.repeat(np.arange(8), 5)
    kappa = rng.normal(0.0, 0.03, 8)[plane] + rng.normal(0.0, 0.01, 40)
    fit = fit_fleet(fleet_points(0.25, kappa, 0.009, plane), order=0)
    assert fit.spread[0, 0] > 0.0
    np.testing.assert_allclose(fit.small.covariance, fit.solved.covariance, rtol=1e-9)
    variance, gradient = fit.solved.covariance[0, 0, 0], fit.small.mean_gradient(0, np.ones(1))
    assert fit.small.degrees_of_freedom(variance, gradient) == pytest.approx(7.0, rel=1e-6)


def test_standard_error_of_the_spread_is_the_published_one_of_the_vaccine_trials() -> None:
    # REML standard error of tau^2 0.1664 at tau^2 = 0.3132: thirteen BCG trials as analysed
    # in the documentation of an R package for meta-analysis, seen there
    tau2 = 0.3132
    points = fleet_points(0.25, BCG_Y, np.sqrt(BCG_V), np.arange(13))
    sums = aircraft_sums(points).with_order(0)
    solved = group_sums(sums, np.array([[np.sqrt(tau2)]]), 1.0, 1)
    ours = derivatives(sums, solved, np.array([[tau2]]), 1.0, phi_free=False)
    assert np.sqrt(ours.parameter_covariance[0, 0]) == pytest.approx(0.1664, abs=5e-5)
