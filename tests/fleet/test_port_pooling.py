"""Pairings shrunk towards their port: exact where algebra is, sound at both ends."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.pooled import fit_fleet
from fleetcal.fleet.port_pooling import SHARES, PairingCurves, _solve, pool_pairings
from tests.fleet.dense_model import departure_covariance, error_covariance
from tests.fleet.fleet_maker import fleet_points, random_points
from tests.fleet.simulations.invented_fleet import KAPPA_PER_KT, Plan, draw

LIFT = np.array([0.15, 0.25, 0.4])


def fleet(seed: int, pairings: int, apart_kt: float, aircraft: int = 5) -> PairingCurves:
    """Fit pairings of one port whose levels alternate by so many knots."""
    points = draw(Plan(aircraft=aircraft, groups=pairings), np.random.default_rng(seed))
    moved = KAPPA_PER_KT * apart_kt * np.where(np.arange(pairings) % 2, 0.5, -0.5)
    points = replace(points, y=points.y + moved[points.group_of[points.aircraft]])
    return pool_pairings(fit_fleet(points, 1), np.zeros(pairings, dtype=np.int64))


def test_a_shrunk_curve_at_one_spread_is_the_prediction_by_whole_matrices() -> None:
    points = random_points(91, (6, 5, 4, 7, 5, 4, 6, 5, 6), group_of=(0, 0, 0, 1, 1, 1, 2, 2, 2))
    fit = fit_fleet(points, order=2)
    deviation = np.array([0.013, 0.08])
    keep = np.arange(len(fit.averaged.weight)) == int(np.argmax(fit.averaged.weight))
    _, mean, covariance = _solve(fit.averaged, keep, deviation, np.zeros(3, dtype=np.int64))
    x = curve_basis(points.x, 2)
    group = points.group_of[points.aircraft]
    v = fit.phi * error_covariance(points)
    v = v + departure_covariance(points, fit.averaged.spread[keep][0])
    z = x[:, :2] * deviation
    between = np.where(group[:, None] == group, z @ z.T, 0.0)
    inverse = np.linalg.inv(v + between)
    spread_of_mean = np.linalg.inv(x.T @ inverse @ x)
    gamma = spread_of_mean @ x.T @ inverse @ points.y
    for g in range(3):
        mine = np.where((group == g)[:, None], z, 0.0) * deviation  # Z_g E
        own = mine.T @ inverse @ (points.y - x @ gamma)
        told = gamma + np.r_[own, 0.0]
        np.testing.assert_allclose(mean[0, g], told, rtol=1e-7, atol=1e-9)
        # variance of prediction error of gamma + eta: Henderson's, written out
        pick = np.zeros((3, len(v)))
        pick[:2] = mine.T
        down = np.eye(3) - pick @ inverse @ x
        left = np.diag([*deviation**2, 0.0]) - pick @ inverse @ pick.T
        np.testing.assert_allclose(
            covariance[0, g], down @ spread_of_mean @ down.T + left, rtol=1e-6, atol=1e-12
        )


def test_a_port_with_one_pairing_keeps_its_own_curve() -> None:
    points = draw(Plan(aircraft=6), np.random.default_rng(92))
    fit = fit_fleet(points, 1)
    curves = pool_pairings(fit, np.zeros(1, dtype=np.int64))
    own, shrunk = fit.mean_band(0, LIFT), curves.band(0, LIFT)
    np.testing.assert_allclose(shrunk.centre, own.centre, atol=2e-3)
    np.testing.assert_allclose(shrunk.high - shrunk.low, own.high - own.low, rtol=0.05)
    assert np.isnan(curves.alike[0])


def test_pairings_that_are_alike_lend_each_other_their_airframes() -> None:
    curves = fleet(93, 4, 0.0)
    points = draw(Plan(aircraft=5, groups=4), np.random.default_rng(93))
    own = fit_fleet(points, 1).mean_band(0, LIFT)
    shrunk = curves.band(0, LIFT)
    assert np.all(shrunk.high - shrunk.low < 0.9 * (own.high - own.low))
    assert curves.alike[0] > 0.05


@pytest.mark.long
def test_pairings_far_apart_keep_their_own_curves() -> None:
    curves = fleet(94, 4, 12.0)
    assert curves.alike[0] < 1e-4
    centres = np.array([curves.band(g, LIFT).centre[1] for g in range(4)]) / KAPPA_PER_KT
    assert np.ptp(centres[[0, 2]]) < 3.0
    assert centres[1] - centres[0] == pytest.approx(12.0, abs=3.0)
    level = curves.weight @ curves.between[:, 0] / KAPPA_PER_KT
    assert level == pytest.approx(12.0 / np.sqrt(3.0), rel=0.6)


@pytest.mark.long
def test_two_ports_do_not_lend_to_each_other() -> None:
    points = draw(Plan(aircraft=5, groups=4), np.random.default_rng(95))
    moved = np.array([0.0, 0.0, 10.0, 10.0]) * KAPPA_PER_KT
    points = replace(points, y=points.y + moved[points.group_of[points.aircraft]])
    curves = pool_pairings(fit_fleet(points, 1), np.array([0, 0, 1, 1]))
    centres = np.array([curves.band(g, LIFT).centre[1] for g in range(4)]) / KAPPA_PER_KT
    assert np.all(centres[2:] - centres[:2] > 7.0)
    assert curves.alike.shape == (2,)


def test_levels_without_error_are_compared_as_by_analysis_of_variance() -> None:
    # exact with hardly any error of the points: F of groups in a one-way layout (scipy)
    from scipy import stats

    rng = np.random.default_rng(96)
    levels = rng.normal(0.03, 0.02, (3, 7)) + np.array([[0.0], [0.02], [0.03]])
    points = fleet_points(
        0.25, levels.ravel(), 1e-5, np.arange(21), group_of=np.repeat([0, 1, 2], 7)
    )
    curves = pool_pairings(fit_fleet(points, 0), np.zeros(3, dtype=np.int64))
    assert curves.alike[0] == pytest.approx(stats.f_oneway(*levels).pvalue, rel=0.05)
    assert curves.between.shape[1] == 1
    assert len(np.unique(curves.between)) == len(SHARES)
