"""The pooled fit against published fits of the same model, and against an independent program.

A point of standard uncertainty u with phi free is an observation with residual
variance phi u^2; lift is set to t + 0.25, so that t is the covariate.
"""

from __future__ import annotations

import warnings
from dataclasses import replace
from importlib.resources import files

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from statsmodels.regression.mixed_linear_model import MixedLM

from fleetcal.fleet.enough_points import supported_order
from fleetcal.fleet.likelihood import GroupSums, group_sums
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.pooled import PooledFit, fit_fleet, fit_sums
from fleetcal.fleet.sums import aircraft_sums
from tests.fleet.dense_model import dense_posterior
from tests.fleet.fleet_maker import fleet_points, level_fleet, random_points
from tests.fleet.published_data import (
    BCG_LATITUDE,
    BCG_V,
    BCG_Y,
    CLASP_CONTROL,
    CLASP_CONTROL_EVENTS,
    CLASP_TREATED,
    CLASP_TREATED_EVENTS,
    DYESTUFF,
    DYESTUFF2,
    KACKER_V,
    KACKER_Y,
    SLEEP_MS,
    THERMOMETER_CORRECTION,
    THERMOMETER_DEGC,
)


def _criterion(fit: PooledFit) -> float:
    """Return -2 log restricted likelihood with the constant that mixed-model programs print."""
    free = int(fit.sums.count.sum()) - fit.beta.size
    return fit.solved.deviance + free * float(np.log(2.0 * np.pi))


def _rows_as_aircraft(table: Array, u: float) -> FleetPoints:
    aircraft = np.repeat(np.arange(len(table)), table.shape[1])
    return fleet_points(0.25, table.ravel(), u, aircraft)


def _one_point_each(y: Array, v: Array, t: Array | float = 0.0) -> FleetPoints:
    return fleet_points(np.asarray(t) + 0.25, y, np.sqrt(v), np.arange(len(y)))


# ---- published mixed-model examples


@pytest.mark.parametrize("u", [5.0, 10.0, 20.0, 25.0])
def test_sleep_study_random_level_and_slope(u: float) -> None:
    # restricted fit "y ~ day + (day | subject)" as printed in documentation and tests of lme4,
    # seen there; the likelihood at its variances is 3e-7 short of the top, so 612.10 is 612.09
    days = np.tile(np.arange(10.0), 18)
    points = fleet_points(days + 0.25, SLEEP_MS.ravel(), u, np.repeat(np.arange(18), 10))
    fit = fit_fleet(points, order=1)
    np.testing.assert_allclose(fit.beta[0], [251.405104848485, 10.467285959595], rtol=1e-10)
    standard_error = np.sqrt(np.diag(fit.solved.covariance[0]))
    np.testing.assert_allclose(standard_error, [6.825, 1.546], atol=5e-4)
    correlation = fit.solved.covariance[0][0, 1] / standard_error.prod()
    assert correlation == pytest.approx(-0.138, abs=5e-4)
    assert fit.spread[0, 0] == pytest.approx(612.10, abs=0.015)
    assert fit.spread[1, 1] == pytest.approx(35.07, abs=5e-3)
    assert fit.phi * u**2 == pytest.approx(654.94, abs=5e-3)
    sd = np.sqrt(np.diag(fit.spread))
    assert fit.spread[0, 1] / sd.prod() == pytest.approx(0.0656, abs=1e-4)
    assert _criterion(fit) == pytest.approx(1743.6282722424, abs=1e-6)
    assert _criterion(fit) <= 1743.6282722424


def test_dyestuff_random_level() -> None:
    # as printed with lme4, seen there; balanced, so also exact from the analysis of variance:
    # between 11271.5, within 2451.25, spread their difference over 5
    fit = fit_fleet(_rows_as_aircraft(DYESTUFF, 20.0), order=0)
    assert fit.beta[0, 0] == pytest.approx(1527.5, rel=1e-12)
    assert fit.spread[0, 0] == pytest.approx(1764.05, rel=2e-5)
    assert fit.phi * 400.0 == pytest.approx(2451.25, rel=1e-5)
    assert fit.solved.covariance[0, 0, 0] == pytest.approx(11271.5 / 30.0, rel=2e-5)
    assert _criterion(fit) == pytest.approx(319.654276842342, abs=1e-6)


def test_dyestuff2_has_no_spread_between_batches() -> None:
    # as printed with lme4, seen there: batch 0, residual 3.716, mean 5.6656, criterion 161.8283
    fit = fit_fleet(_rows_as_aircraft(DYESTUFF2, 1.0), order=0)
    assert fit.spread[0, 0] == pytest.approx(0.0, abs=1e-6)
    assert np.sqrt(fit.phi) == pytest.approx(3.716, abs=5e-4)
    assert fit.beta[0, 0] == pytest.approx(5.6656, abs=5e-5)
    assert _criterion(fit) == pytest.approx(161.8283, abs=5e-5)
    band = fit.mean_band(0, np.array([0.25]))
    assert np.isfinite(band.low[0])
    assert np.isfinite(band.high[0])


def test_pig_growth_with_random_level_and_slope() -> None:
    # 861 weights of 72 pigs in the statsmodels wheel; level 19.493, covariance 0.294, slope
    # 0.416, residual 6.037, mean 15.739 + 6.939 a week: its documentation, from memory
    data = pd.read_csv(
        str(files("statsmodels.regression.tests.results") / "dietox.csv"),
        usecols=["Weight", "Time", "Pig"],
    )
    pig = np.unique(data["Pig"], return_inverse=True)[1]
    fit = fit_fleet(fleet_points(data["Time"] + 0.25, data["Weight"], 1.0, pig), order=1)
    np.testing.assert_allclose(fit.beta[0], [15.739, 6.939], atol=1e-3)
    assert fit.spread[0, 0] == pytest.approx(19.493, abs=0.02)
    assert fit.spread[0, 1] == pytest.approx(0.294, abs=2e-3)
    assert fit.spread[1, 1] == pytest.approx(0.416, abs=1e-3)
    assert fit.phi == pytest.approx(6.037, abs=2e-3)


# ---- an independent program on random data


def _independent_fit(points: FleetPoints, order: int):
    t = points.x - 0.25
    x = t[:, None] ** np.arange(order + 1)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns of its own steps; what it ends in is compared
        model = MixedLM(points.y, x, groups=points.aircraft, exog_re=x[:, : min(2, order + 1)])
        return model.fit(reml=True, method="powell", xtol=1e-10, ftol=1e-12, maxiter=4000)


def _uneven_fleet(seed: int) -> FleetPoints:
    whole = level_fleet(seed, 12, 9)
    rng = np.random.default_rng(seed + 500)
    keep = rng.random(len(whole.x)) < 0.7
    keep[::9] = keep[1::9] = keep[8::9] = True
    return fleet_points(
        whole.x[keep] + rng.uniform(-0.02, 0.02, keep.sum()),
        whole.y[keep],
        whole.u_own[keep],
        whole.aircraft[keep],
    )


@pytest.mark.long
@pytest.mark.parametrize("seed", [31, 32, 33, 34])
@pytest.mark.parametrize("kind", ["balanced", "uneven"])
@pytest.mark.parametrize("order", [0, 1, 2])
def test_the_fit_agrees_with_an_independent_program(seed: int, kind: str, order: int) -> None:
    # MixedLM of statsmodels, Powell's search: curve within 1e-4, variances within 1 %
    drawn = level_fleet(seed, 10, 6) if kind == "balanced" else _uneven_fleet(seed)
    points = fleet_points(drawn.x, drawn.y, 0.005, drawn.aircraft)
    fit, other = fit_fleet(points, order), _independent_fit(points, order)
    assert fit.phi > 1.0
    largest = np.abs(other.fe_params).max()
    np.testing.assert_allclose(fit.beta[0], other.fe_params, rtol=1e-4, atol=1e-4 * largest)
    assert fit.phi * 0.005**2 == pytest.approx(other.scale, rel=0.01)
    np.testing.assert_allclose(np.diag(fit.spread), np.diag(other.cov_re), rtol=0.01)
    sd = np.sqrt(np.diag(fit.spread))
    np.testing.assert_allclose(fit.spread, other.cov_re, atol=0.01 * sd.prod() ** (2 / len(sd)))
    lift = np.array([0.1, 0.25, 0.6])
    x = (lift - 0.25)[:, None] ** np.arange(order + 1)
    np.testing.assert_allclose(
        fit.mean_band(0, lift).centre, x @ other.fe_params, rtol=1e-4, atol=1e-4 * largest
    )


@pytest.mark.parametrize("size", [0.0, 1e-9, 1e5], ids=["zero", "hardly any", "huge"])
@pytest.mark.parametrize("order", [0, 1])
def test_the_search_ends_at_the_same_top_wherever_it_starts(order: int, size: float) -> None:
    # at L = 0 the slope by L is zero, and far out it is lost in rounding
    sums = aircraft_sums(level_fleet(46, 8, 6)).with_order(order)
    usual = fit_sums(sums, 1)
    start = size * np.array([[1.0], [1.0, 0.0, 1.0]][order])
    other = fit_sums(sums, 1, np.r_[start, 0.0])
    assert usual.spread[0, 0] > 1e-5
    assert other.solved.deviance == pytest.approx(usual.solved.deviance, abs=1e-6)
    np.testing.assert_allclose(other.spread, usual.spread, rtol=1e-3, atol=1e-7)


# ---- published meta-analyses: one point an aircraft, curve of order 0


def test_meta_analysis_of_thirteen_vaccine_trials() -> None:
    # REML tau^2 0.3132, mean -0.7145 (0.1798): documentation and tests of metafor, seen there
    fit = fit_fleet(_one_point_each(BCG_Y, BCG_V), order=0)
    assert fit.phi == 1.0
    assert fit.spread[0, 0] == pytest.approx(0.3132, abs=5e-5)
    assert fit.beta[0, 0] == pytest.approx(-0.7145, abs=5e-5)
    assert np.sqrt(fit.solved.covariance[0, 0, 0]) == pytest.approx(0.1798, abs=5e-5)


def test_key_comparison_of_nine_laboratories() -> None:
    # REML tau^2 re-computed beside published estimators that agreed with their printed digits;
    # mean and standard error are the weighted ones at that tau^2
    fit = fit_fleet(_one_point_each(KACKER_Y, KACKER_V), order=0)
    weight = 1.0 / (KACKER_V + 0.2943429)
    assert fit.spread[0, 0] == pytest.approx(0.2943429, abs=2e-7)
    assert fit.beta[0, 0] == pytest.approx(weight @ KACKER_Y / weight.sum(), abs=1e-6)
    error = np.sqrt(fit.solved.covariance[0, 0, 0])
    assert error == pytest.approx(1.0 / np.sqrt(weight.sum()), rel=1e-6)


def test_meta_analysis_of_six_trials_given_as_counts() -> None:
    # R. DerSimonian, R. Kacker (2007), table 4, REML column as in the tests of metafor, seen
    a, b = CLASP_TREATED_EVENTS, CLASP_TREATED - CLASP_TREATED_EVENTS
    c, d = CLASP_CONTROL_EVENTS, CLASP_CONTROL - CLASP_CONTROL_EVENTS
    points = _one_point_each(np.log(a * d / (b * c)), 1 / a + 1 / b + 1 / c + 1 / d)
    fit = fit_fleet(points, order=0)
    assert np.sqrt(fit.spread[0, 0]) == pytest.approx(0.1843, abs=5e-5)
    assert fit.beta[0, 0] == pytest.approx(-0.2980, abs=5e-5)
    assert np.sqrt(fit.solved.covariance[0, 0, 0]) == pytest.approx(0.1343, abs=5e-5)


def test_meta_regression_on_latitude_at_its_published_residual_spread() -> None:
    # residual tau^2 0.0764 seen in the documentation of metafor; line and standard errors
    # re-computed from its formulae
    sums = aircraft_sums(_one_point_each(BCG_Y, BCG_V, BCG_LATITUDE)).with_order(1)
    solved = group_sums(sums, np.array([[np.sqrt(0.0764), 0.0], [0.0, 0.0]]), 1.0, 1)
    np.testing.assert_allclose(solved.beta[0], [0.251468, -0.029102], rtol=1e-3)
    errors = np.sqrt(np.diag(solved.covariance[0]))
    np.testing.assert_allclose(errors, [0.249095, 0.007195], rtol=1e-3)


def test_with_equal_uncertainties_the_spread_is_the_scatter_less_the_variance_of_a_point() -> None:
    # exact: tau^2 = s^2 - v
    y = np.array([0.2, -0.5, 1.1, 0.7, -0.1, 0.6])
    fit = fit_fleet(_one_point_each(y, np.full(6, 0.09)), order=0)
    assert fit.spread[0, 0] == pytest.approx(0.2486666667, rel=1e-5)
    assert fit.beta[0, 0] == pytest.approx(0.3333333333, abs=1e-10)
    assert np.sqrt(fit.solved.covariance[0, 0, 0]) == pytest.approx(0.2375803957, rel=1e-6)


def test_points_less_scattered_than_they_claim_leave_no_spread_between_aircraft() -> None:
    # exact: s^2 < v gives tau^2 = 0 and se = sqrt(v/n)
    y = np.array([0.2, -0.5, 1.1, 0.7, -0.1, 0.6])
    fit = fit_fleet(_one_point_each(y, np.full(6, 0.9)), order=0)
    assert fit.spread[0, 0] == pytest.approx(0.0, abs=1e-6)
    assert np.sqrt(fit.solved.covariance[0, 0, 0]) == pytest.approx(np.sqrt(0.9 / 6), rel=1e-6)


# ---- a published calibration line, with and without an error shared by all of its points


def _thermometer_line(u_own: float, u_shared: float) -> GroupSums:
    points = fleet_points(
        THERMOMETER_DEGC - 20.0 + 0.25,
        THERMOMETER_CORRECTION,
        u_own,
        np.zeros(11, dtype=np.int64),
        u_shared=np.full((11, 1), u_shared),
    )
    return group_sums(aircraft_sums(points).with_order(1), np.zeros((2, 2)), 1.0, 1)


def test_thermometer_calibration_line() -> None:
    # GUM H.3: y1 = -0.1712 (0.0029), y2 = 0.00218 (0.00067), r = -0.930, s = 0.0035; all
    # digits as in a public uncertainty library, seen there
    s = np.sqrt(float(_thermometer_line(1.0, 0.0).misfit[0]) / 9.0)
    assert s == pytest.approx(0.0035, abs=5e-5)
    assert 9.0 * s**2 == pytest.approx(0.000110096583109, rel=1e-9)
    line = _thermometer_line(float(s), 0.0)
    np.testing.assert_allclose(
        line.beta[0], [-0.17120379013135004, 0.0021826977398872894], rtol=1e-11
    )
    u = np.sqrt(np.diag(line.covariance[0]))
    assert u[0] == pytest.approx(0.0029, abs=5e-5)
    assert u[1] == pytest.approx(0.0006679387732278323, rel=1e-10)
    assert line.covariance[0][0, 1] / u.prod() == pytest.approx(-0.930, abs=5e-4)


def test_an_error_shared_by_all_points_widens_the_level_and_leaves_the_slope() -> None:
    # the same library: u(y1) with a common 0.005, u(y2) unchanged
    s = float(np.sqrt(_thermometer_line(1.0, 0.0).misfit[0] / 9.0))
    line = _thermometer_line(s, 0.005)
    u = np.sqrt(np.diag(line.covariance[0]))
    assert u[0] == pytest.approx(0.00576893138292676, rel=1e-10)
    assert u[1] == pytest.approx(0.0006679387732278323, rel=1e-9)
    np.testing.assert_allclose(
        line.beta[0], [-0.17120379013135004, 0.0021826977398872894], rtol=1e-9
    )


# ---- bands and the choice of order


@pytest.mark.parametrize("aircraft", [3, 4, 9, 25, 100, 300])
def test_bands_are_students_where_points_have_hardly_any_error(aircraft: int) -> None:
    # normal sample, prior 1/sd as without any: mean +- t(n-1) s sqrt(1/n), next with 1 + 1/n
    y = np.random.default_rng(35).normal(0.03, 0.02, aircraft)
    fit = fit_fleet(_one_point_each(y, np.full(aircraft, 1e-12)), order=0)
    at = np.array([0.25])
    for band, share in ((fit.mean_band(0, at), 0.0), (fit.next_band(0, at), 1.0)):
        half = stats.t.ppf(0.975, aircraft - 1) * y.std(ddof=1) * np.sqrt(share + 1.0 / aircraft)
        told = [band.low[0], band.centre[0], band.high[0]]
        np.testing.assert_allclose(told, y.mean() + half * np.array([-1, 0, 1]), atol=0.01 * half)


@pytest.mark.parametrize("correlation", [-0.7, 0.2, 0.6])
def test_many_aircraft_tell_how_level_and_tilt_go_together(correlation: float) -> None:
    # without error of points, the next aircraft at one speed is one more of a normal sample
    aircraft, at = 80, np.array([0.05, 0.25, 0.55])
    rng = np.random.default_rng(47)
    tilt = rng.normal(0.0, 1.0, aircraft)
    mixed = correlation * tilt + np.sqrt(1.0 - correlation**2) * rng.normal(0.0, 1.0, aircraft)
    level = 0.02 * mixed
    lift = np.tile(np.linspace(0.05, 0.6, 5), aircraft)
    plane = np.repeat(np.arange(aircraft), 5)
    kappa = level[plane] + 0.08 * tilt[plane] * (lift - 0.25)
    band = fit_fleet(fleet_points(lift, kappa, 1e-5, plane), order=1).next_band(0, at)
    own = level[:, None] + 0.08 * tilt[:, None] * (at - 0.25)
    half = (
        stats.t.ppf(0.975, aircraft - 1) * own.std(axis=0, ddof=1) * np.sqrt(1.0 + 1.0 / aircraft)
    )
    np.testing.assert_allclose((band.high - band.low) / 2.0, half, rtol=0.02)


@pytest.mark.long
@pytest.mark.parametrize(("seed", "order"), [(43, 0), (44, 1), (45, 2)])
def test_bands_are_averaged_over_the_spread_as_by_whole_matrices(seed: int, order: int) -> None:
    # the same model and prior on a fine grid, every node solved with N x N matrices
    points = random_points(seed, (6, 5, 4, 7, 5))
    fit = fit_fleet(points, order)
    scale = np.sqrt(np.maximum(np.diag(fit.spread), [4e-5, 4e-4][: len(fit.spread)]))
    posterior = dense_posterior(points, order, fit.phi, scale)
    for s in (0.12, 0.25, 0.55):
        x = (s - 0.25) ** np.arange(order + 1)
        z = x[: len(fit.spread)]
        mean = np.array([x @ f.beta for f in posterior.fits])
        own = np.array([x @ f.covariance @ x for f in posterior.fits])
        between = np.array([z @ d @ z for d in posterior.spread])
        at = np.array([s])
        for band, variance in (
            (fit.mean_band(0, at), own),
            (fit.next_band(0, at), own + between),
        ):
            width = band.high[0] - band.low[0]
            for edge, level in ((band.low[0], 0.025), (band.high[0], 0.975)):
                below = posterior.weight @ stats.norm.cdf((edge - mean) / np.sqrt(variance))
                assert below == pytest.approx(level, abs=0.003)
            assert width > 2.0 * 1.96 * np.sqrt(variance.min())


def test_bands_widen_with_the_level_asked_for_and_the_next_aircraft_has_the_wider_one() -> None:
    fit = fit_fleet(level_fleet(36, 8, 6), order=1)
    lift = np.linspace(0.1, 0.6, 5)
    mean, surer = fit.mean_band(0, lift), fit.mean_band(0, lift, level=0.99)
    following = fit.next_band(0, lift)
    assert np.all(surer.low < mean.low)
    assert np.all(following.high > mean.high)
    np.testing.assert_allclose(mean.high - mean.centre, mean.centre - mean.low, rtol=1e-9)


def test_groups_have_curves_of_their_own_and_one_spread() -> None:
    points = random_points(37, (6, 7, 5, 8, 6, 7, 6, 8), group_of=(0, 0, 0, 0, 1, 1, 1, 1))
    both = fit_fleet(points, order=1)
    sums = aircraft_sums(points).with_order(1)
    root = np.asarray(np.linalg.cholesky(both.spread + 1e-18 * np.eye(2)))
    for group in (0, 1):
        others = {a for a in range(8) if points.group_of[a] != group}
        alone = aircraft_sums(points.without_aircraft(others)).with_order(1)
        own = group_sums(
            replace(alone, group_of=np.zeros(4, dtype=np.int64)),
            root,
            both.phi,
            1,
        )
        np.testing.assert_allclose(both.beta[group], own.beta[0], rtol=1e-8)
    assert sums.products.shape[0] == 8


@pytest.mark.parametrize(("bend", "order"), [(0.0, 1), (1.0, 2)])
def test_the_order_chosen_is_the_one_the_aircraft_left_out_are_best_told_by(
    bend: float, order: int
) -> None:
    points = level_fleet(38, 12, 8, u=0.004)
    bent = fleet_points(points.x, points.y + bend * (points.x - 0.25) ** 2, 0.004, points.aircraft)
    assert fit_fleet(bent).order == order


@pytest.mark.parametrize(("speeds", "highest"), [(1, 0), (2, 1), (3, 2), (6, 2)])
def test_the_order_is_limited_by_the_number_of_speeds_flown(speeds: int, highest: int) -> None:
    lift = np.tile(np.linspace(0.15, 0.5, speeds), 5)
    kappa = np.random.default_rng(39).normal(0.03, 0.02, len(lift))
    points = fleet_points(lift, kappa, 0.01, np.repeat(np.arange(5), speeds))
    assert supported_order(points) == highest
    assert fit_fleet(points).order <= highest


def test_the_order_is_limited_by_the_group_with_the_fewest_speeds() -> None:
    lift = np.r_[np.tile(np.linspace(0.1, 0.6, 6), 4), np.tile([0.2, 0.4], 4)]
    aircraft = np.r_[np.repeat(np.arange(4), 6), np.repeat(np.arange(4, 8), 2)]
    kappa = np.random.default_rng(40).normal(0.03, 0.02, len(lift))
    points = fleet_points(lift, kappa, 0.01, aircraft, group_of=np.repeat([0, 1], 4))
    assert supported_order(points) == 1


def test_the_numbering_of_the_aircraft_changes_nothing() -> None:
    points = random_points(41, (6, 7, 5, 8, 6))
    turned = FleetPoints(
        x=points.x,
        y=points.y,
        u_own=points.u_own,
        u_shared=points.u_shared,
        sortie=points.sortie,
        aircraft=4 - points.aircraft,
        group_of=points.group_of,
    )
    before, after = fit_fleet(points, 1), fit_fleet(turned, 1)
    np.testing.assert_allclose(after.beta, before.beta, rtol=1e-6)
    np.testing.assert_allclose(after.spread, before.spread, rtol=1e-3, atol=1e-9)


def test_another_unit_of_kappa_changes_nothing_but_the_unit() -> None:
    points = random_points(42, (6, 7, 5, 8, 6, 4))
    thousand = FleetPoints(
        x=points.x,
        y=1000.0 * points.y,
        u_own=1000.0 * points.u_own,
        u_shared=1000.0 * points.u_shared,
        sortie=points.sortie,
        aircraft=points.aircraft,
        group_of=points.group_of,
    )
    small, large = fit_fleet(points), fit_fleet(thousand)
    assert small.order == large.order
    np.testing.assert_allclose(large.beta, 1000.0 * small.beta, rtol=1e-5)
    np.testing.assert_allclose(large.spread, 1e6 * small.spread, rtol=1e-3, atol=1e-3)
