"""Standing of one aircraft against exact tests, and where no verdict can be given."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats
from statsmodels.stats.multitest import multipletests

from fleetcal.fleet.pooled import PooledFit, fit_fleet, fit_sums
from fleetcal.fleet.standing import all_standings, holm, standing_of
from fleetcal.fleet.sums import aircraft_sums
from tests.fleet.dense_model import dense_posterior, dense_standing
from tests.fleet.fleet_maker import fleet_points, level_fleet, random_points

pytestmark = pytest.mark.long

LEVELS = np.array([0.031, 0.052, 0.018, 0.044, 0.027, 0.061, 0.035, 0.120])


#: The grid of spreads is coarse: tail chances agree to this share.
GRID = 0.06


def test_points_without_error_are_judged_by_students_t_of_the_one_left_out() -> None:
    # exact where only the spread scatters: t of n - 1 degrees of freedom against the n others,
    # with the prior 1/sd as without any; by hand
    points = fleet_points(0.25, LEVELS, 1e-6, np.arange(8))
    fit = fit_fleet(points, order=0)
    for a, mine in enumerate(LEVELS):
        rest = np.delete(LEVELS, a)
        t = (mine - rest.mean()) / (rest.std(ddof=1) * np.sqrt(1.0 + 1.0 / 7.0))
        standing = standing_of(points, a, fit)
        assert standing.others == 7
        assert standing.departure[0] == pytest.approx(mine - rest.mean(), rel=1e-6)
        assert standing.p_value == pytest.approx(2.0 * stats.t.sf(abs(t), 6), rel=GRID)


def test_points_without_error_are_judged_as_by_the_outlier_test_of_an_independent_program() -> None:
    # externally studentized residuals of a constant, statsmodels
    told = sm.OLS(LEVELS, np.ones((8, 1))).fit().outlier_test()
    points = fleet_points(0.25, LEVELS, 1e-6, np.arange(8))
    standings = all_standings(points, fit_fleet(points, order=0))
    np.testing.assert_allclose([s.p_value for s in standings], told[:, 1], rtol=GRID)


@pytest.mark.parametrize(("seed", "order"), [(51, 0), (52, 1), (53, 2)])
def test_a_standing_is_averaged_over_the_spread_as_by_whole_matrices(seed: int, order: int) -> None:
    # the same model and prior on a fine grid, every node solved with N x N matrices
    points = random_points(seed, (6, 5, 4, 7, 5, 4))
    fit = fit_fleet(points, order)
    for a in (1, 4):
        left = points.without_aircraft({a})
        rest = fit_sums(aircraft_sums(left).with_order(order), 1)
        scale = np.sqrt(np.maximum(np.diag(rest.spread), [4e-5, 4e-4][: len(rest.spread)]))
        posterior = dense_posterior(left, order, rest.phi, scale)
        departure, p_value = dense_standing(points, a, posterior, rest.phi, len(rest.spread))
        standing = standing_of(points, a, fit)
        sd = np.sqrt(np.diag(standing.covariance))
        np.testing.assert_allclose(standing.departure / sd, departure / sd, atol=0.03)
        assert standing.p_value == pytest.approx(p_value, rel=GRID)


def test_an_aircraft_flown_at_one_speed_is_judged_there_with_the_spread_of_that_speed() -> None:
    # far from t = 0 the tilts of the others count as much as their levels
    fleet = level_fleet(53, 7, 5, spread=0.01, u=0.004)
    tilted = fleet.y + 0.1 * (-1.0) ** fleet.aircraft * (fleet.x - 0.25)
    slow = np.where(fleet.aircraft == 3, 0.60, fleet.x)
    kappa = np.where(fleet.aircraft == 3, 0.03 + 0.06 * 0.35 + 0.08, tilted)
    points = fleet_points(slow, kappa, 0.004, fleet.aircraft)
    left = points.without_aircraft({3})
    rest = fit_sums(aircraft_sums(left).with_order(1), 1)
    posterior = dense_posterior(left, 1, rest.phi, np.sqrt(np.diag(rest.spread)))
    departure, p_value = dense_standing(points, 3, posterior, rest.phi, 1)
    standing = standing_of(points, 3, fit_fleet(points, order=1))
    assert standing.departure.shape == (1,)
    assert standing.departure[0] == pytest.approx(departure[0], rel=0.02)
    assert standing.p_value == pytest.approx(p_value, rel=GRID)
    assert standing.p_value > 3.0 * _level_alone(departure[0], rest)


def _level_alone(departure: float, rest: PooledFit) -> float:
    """Return the tail chance were the tilts of the others forgotten."""
    variance = rest.spread[0, 0] + 0.004**2 / 5.0 + rest.solved.covariance[0, 0, 0]
    return float(2.0 * stats.norm.sf(abs(departure) / np.sqrt(variance)))


@pytest.mark.parametrize("suspects", [frozenset(), frozenset({5})], ids=["none set aside", "one"])
def test_all_aircraft_at_once_are_judged_as_one_by_one(suspects: frozenset[int]) -> None:
    # all at once shares one grid of spreads; one by one, each rest has its own
    points = random_points(59, (7, 5, 6, 8, 4, 6, 5))
    fit = fit_fleet(points, order=1)
    for a, standing in enumerate(all_standings(points, fit, suspects)):
        alone = standing_of(points, a, fit, suspects)
        assert standing.others == alone.others
        assert standing.p_value == pytest.approx(alone.p_value, rel=2.0 * GRID)


def test_an_aircraft_with_one_point_is_judged_by_that_point() -> None:
    points = random_points(54, (7, 5, 6, 8, 1, 6))
    standing = standing_of(points, 4, fit_fleet(points, order=1))
    assert standing.departure.shape == (1,)
    assert standing.covariance.shape == (1, 1)
    assert 0.0 < standing.p_value <= 1.0
    moved = fleet_points(
        points.x,
        np.where(points.aircraft == 4, points.y + 1.0, points.y),
        points.u_own,
        points.aircraft,
    )
    assert standing_of(moved, 4, fit_fleet(moved, order=1)).p_value < 1e-3


def test_fewer_than_four_aircraft_in_a_group_give_no_verdict_and_four_do() -> None:
    points = random_points(55, (6, 5, 7, 6, 5, 6, 7), group_of=(0, 0, 0, 1, 1, 1, 1))
    standings = all_standings(points, fit_fleet(points, order=1))
    assert [np.isnan(s.p_value) for s in standings] == [True] * 3 + [False] * 4
    assert [s.others for s in standings] == [2] * 3 + [3] * 4
    assert all(s.departure.size == 0 and np.isnan(s.ratio) for s in standings[:3])


def test_suspects_are_not_compared_with_and_count_as_missing() -> None:
    points = random_points(56, (6, 5, 7, 6, 5))
    fit = fit_fleet(points, order=1)
    assert standing_of(points, 0, fit, frozenset({1})).others == 3
    assert np.isnan(standing_of(points, 0, fit, frozenset({1, 2})).p_value)
    left = points.without_aircraft({1})
    direct = standing_of(left, 0, fit_fleet(left, order=1))
    judged = standing_of(points, 0, fit, frozenset({1}))
    assert judged.p_value == pytest.approx(direct.p_value, rel=1e-4)


def test_an_aircraft_on_which_the_curve_hangs_alone_gets_no_verdict() -> None:
    # only aircraft 0 was flown at more than one speed: without it there is no slope
    rng = np.random.default_rng(57)
    plane = np.repeat(np.arange(5), 5)
    lift = np.where(plane == 0, np.tile(np.linspace(0.1, 0.6, 5), 5), 0.3)
    points = fleet_points(lift, rng.normal(0.03, 0.01, 25), 0.01, plane)
    standings = all_standings(points, fit_fleet(points, order=1))
    assert np.isnan(standings[0].p_value)
    assert all(np.isfinite(s.p_value) for s in standings[1:])


def test_what_is_said_of_an_aircraft_does_not_hang_on_where_the_search_started() -> None:
    points = level_fleet(58, 8, 6, spread=0.003, u=0.014)
    wild = fleet_points(points.x, points.y + 3.0 * (points.aircraft == 2), 0.014, points.aircraft)
    for drawn in (points, wild):
        fit = fit_fleet(drawn, order=1)
        for a in range(8):
            rest = fit_sums(aircraft_sums(drawn.without_aircraft({a})).with_order(1), 1)
            cold = fit_sums(
                rest.sums, 1, np.r_[0.02, 0.0, 0.02, 0.3]
            )  # another start, another way to the top
            assert cold.solved.deviance == pytest.approx(rest.solved.deviance, abs=1e-4)
        assert standing_of(wild, 2, fit_fleet(wild, order=1)).p_value < 1e-8
        assert fit.order == 1


@pytest.mark.parametrize("seed", [61, 62, 63])
def test_holm_is_that_of_an_independent_program(seed: int) -> None:
    # S. Holm (1979), as in statsmodels
    p_values = np.random.default_rng(seed).beta(0.3, 1.0, 17)
    np.testing.assert_allclose(holm(list(p_values)), multipletests(p_values, method="holm")[1])


def test_holm_does_not_count_what_was_not_judged() -> None:
    adjusted = holm([0.01, np.nan, 0.04, 0.03])
    np.testing.assert_allclose(adjusted[[0, 2, 3]], [0.03, 0.06, 0.06])
    assert np.isnan(adjusted[1])
    assert holm([]).shape == (0,)
    assert np.all(np.isnan(holm([np.nan, np.nan])))
