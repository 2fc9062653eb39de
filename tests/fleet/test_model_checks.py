"""What speaks against a model: found where it is, and not where it is not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.model_checks import check_groups, fit_checked
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import fit_fleet
from fleetcal.fleet.whitened import whiten
from tests.fleet.dense_model import curve_matrix, departure_covariance, error_covariance
from tests.fleet.fleet_maker import random_points
from tests.fleet.simulations.invented_fleet import Plan, draw

SPEEDS_KT = np.array([75.0, 100.0, 130.0])
LIFT = (50.0 / SPEEDS_KT) ** 2


def bent(points: FleetPoints, knots: float) -> FleetPoints:
    """Add a wave of so many knots to the mean of the group."""
    speed = 50.0 / np.sqrt(points.x)
    wave = knots * np.sin(2.0 * np.pi * (speed - 70.0) / 45.0)
    return replace(points, y=points.y + 2.0 * wave / speed)


def test_whitened_columns_have_the_inverse_covariance_of_whole_matrices() -> None:
    points = random_points(61, (6, 5, 4, 7), terms=2)
    fit = fit_fleet(points, order=1)
    columns = np.column_stack([points.y, points.x, np.ones(len(points.x))])
    white = whiten(points, fit, columns)
    v = fit.phi * error_covariance(points) + departure_covariance(points, fit.spread)
    np.testing.assert_allclose(white.T @ white, columns.T @ np.linalg.solve(v, columns), rtol=1e-9)


def test_the_check_of_the_bend_is_the_test_of_added_columns_by_whole_matrices() -> None:
    points = bent(draw(Plan(aircraft=8), np.random.default_rng(62)), 1.0)
    fit = fit_fleet(points, order=1)
    found = check_groups(points, fit)[0].misfit
    steps = np.argmin(np.abs(points.x[:, None] - found.x), axis=1)
    edges = np.quantile(points.x, np.linspace(0.0, 1.0, len(found.x) + 1)[1:-1])
    np.testing.assert_array_equal(np.searchsorted(edges, points.x, side="right").max(), steps.max())
    marks = np.eye(len(found.x))[np.searchsorted(edges, points.x, side="right")]
    v = fit.phi * error_covariance(points) + departure_covariance(points, fit.spread)
    inverse = np.linalg.inv(v)

    def misfit(x: np.ndarray) -> float:
        beta = np.linalg.lstsq(x.T @ inverse @ x, x.T @ inverse @ points.y, rcond=1e-10)[0]
        rest = points.y - x @ beta
        return float(rest @ inverse @ rest)

    x = curve_matrix(points, 1)
    both = np.hstack([x, marks])
    gain = misfit(x) - misfit(both)
    free = np.linalg.matrix_rank(both) - x.shape[1]
    assert found.p_value == pytest.approx(float(stats.chi2.sf(gain, free)), rel=1e-5)


def test_a_mean_that_waves_is_noticed_told_where_and_widens_both_bands() -> None:
    points = bent(draw(Plan(aircraft=12), np.random.default_rng(63)), 1.5)
    fit, (check,) = fit_checked(points, order=1)
    plain = fit_fleet(points, order=1)
    assert check.misfit.p_value < 0.001
    knots = check.misfit.miss * 50.0 / np.sqrt(check.misfit.x) / 2.0
    # the part of the wave that no straight line takes up: above near 77 and 118 kt, below 100
    told = dict(zip(np.round(50.0 / np.sqrt(check.misfit.x)), knots, strict=True))
    assert max(told.values()) > 0.4
    assert min(told.values()) < -0.4
    for wide, narrow, least in (
        (fit.mean_band(0, LIFT), plain.mean_band(0, LIFT), 1.02),
        (fit.next_band(0, LIFT), plain.next_band(0, LIFT), 1.001),
    ):
        assert np.all(wide.high - wide.low > least * (narrow.high - narrow.low))
        np.testing.assert_array_equal(wide.centre, narrow.centre)


def test_points_that_scatter_more_than_they_say_are_noticed_in_their_group_only() -> None:
    points = draw(Plan(aircraft=8, groups=2), np.random.default_rng(64))
    rng = np.random.default_rng(65)
    noisy = points.group_of[points.aircraft] == 1
    more = np.where(noisy, 2.5, 0.0) * points.u_own * rng.standard_normal(len(noisy))
    _, (quiet, loud) = fit_checked(replace(points, y=points.y + more))
    assert loud.scatter == pytest.approx(np.sqrt(1.0 + 2.5**2), rel=0.2)
    assert loud.scatter_p_value < 1e-6
    assert loud.factor > 1.2
    assert quiet.scatter == pytest.approx(1.0, abs=0.25)
    assert quiet.factor == 1.0


def test_the_ratio_is_the_scatter_about_each_aircrafts_own_curve() -> None:
    points = random_points(66, (7, 6, 8, 5))
    fit = fit_fleet(points, order=1)
    inverse = np.linalg.inv(error_covariance(points))
    total, free = 0.0, 0
    for aircraft in range(4):
        own = np.flatnonzero(points.aircraft == aircraft)
        x, weight = curve_basis(points.x[own], 1), inverse[np.ix_(own, own)]
        beta = np.linalg.solve(x.T @ weight @ x, x.T @ weight @ points.y[own])
        rest = points.y[own] - x @ beta
        total += float(rest @ weight @ rest)
        free += len(own) - 2
    check = check_groups(points, fit)[0]
    assert check.scatter == pytest.approx(np.sqrt(total / free), rel=1e-8)
    assert check.scatter_p_value == pytest.approx(float(stats.chi2.sf(total, free)), rel=1e-6)


def test_one_sortie_that_outweighs_all_others_is_noticed_and_widens_the_bands() -> None:
    # aircraft alike, one sortie with a tenth of the others' uncertainty
    points = draw(
        Plan(aircraft=5, spread_kt=0.0, tilt=0.0, sortie_kt=0.0), np.random.default_rng(67)
    )
    sharp = np.where(points.sortie == 3, 0.1, 1.0)
    points = replace(points, u_own=points.u_own * sharp)
    fit, (check,) = fit_checked(points, order=1)
    assert check.heaviest_sortie == 3
    assert check.heaviest_share > 0.5
    assert np.any(check.shift != 0.0)
    narrow = fit_fleet(points, order=1).mean_band(0, LIFT)
    wide = fit.mean_band(0, LIFT)
    assert np.all(wide.high - wide.low >= narrow.high - narrow.low)
    assert np.any(wide.high - wide.low > 1.01 * (narrow.high - narrow.low))


@pytest.mark.long
def test_a_clean_fleet_raises_no_doubt() -> None:
    alarms = 0
    for seed in range(20):
        points = draw(Plan(aircraft=8), np.random.default_rng(seed + 700))
        check = check_groups(points, fit_fleet(points))[0]
        alarms += check.misfit.p_value < 0.05 or check.scatter_p_value < 0.01
        assert check.heaviest_share < 0.5
    assert alarms <= 3  # six in a hundred are meant


def test_a_group_flown_at_one_speed_has_no_bend_to_check() -> None:
    points = draw(Plan(aircraft=6), np.random.default_rng(68))
    points = replace(points, x=np.full_like(points.x, 0.25))
    _, (check,) = fit_checked(points, order=0)
    assert np.isnan(check.misfit.p_value)
    assert check.misfit.deviation == 0.0
