"""Published one-way layouts, a study of subjects over time, and a table of outlier tests.

A laboratory, batch or subject is an aircraft. What was seen in a published source,
computed by us or recalled from memory is told beside each value.
"""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from scipy import optimize
from statsmodels.regression.mixed_linear_model import MixedLM

from fleetcal.fleet.likelihood import group_sums
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.pooled import fit_fleet
from fleetcal.fleet.standing import all_standings, holm
from fleetcal.fleet.sums import aircraft_sums
from tests.fleet.fleet_maker import fleet_points
from tests.fleet.published_data import (
    DYESTUFF,
    GLUCOSE_A,
    GLUCOSE_D,
    GLUCOSE_E,
    RESISTANCE,
    SLEEP_MS,
)


def _rows(table: Array, u: float) -> FleetPoints:
    aircraft = np.repeat(np.arange(len(table)), table.shape[1])
    return fleet_points(0.25, table.ravel(), u, aircraft)


# ---- one-way layouts: variances between and within are exact functions of the mean squares


def test_resistance_by_five_instruments() -> None:
    # certified mean squares of SiRstv.dat, seen: between 0.0127865654, within 0.010831828
    # exact in a balanced layout: tau^2 is their difference over 5, var(mean) the first over 25
    between, within = 1.27865654000000e-2, 1.08318280000000e-2
    fit = fit_fleet(_rows(RESISTANCE, 0.05), order=0)
    assert fit.phi * 0.05**2 == pytest.approx(within, rel=1e-4)
    assert fit.spread[0, 0] == pytest.approx((between - within) / 5.0, rel=1e-3)
    assert fit.solved.covariance[0, 0, 0] == pytest.approx(between / 25.0, rel=1e-5, abs=0.0)
    assert fit.beta[0, 0] == pytest.approx(RESISTANCE.mean(), rel=1e-12)


@pytest.mark.parametrize(
    ("table", "mean", "s_mean", "s_within", "s_reproducibility"),
    [
        pytest.param(GLUCOSE_D, 194.7171, 2.5950, 2.6251, 3.3657, id="material D"),
        pytest.param(GLUCOSE_E, 294.4921, 2.6931, 3.9350, 4.1923, id="material E"),
    ],
)
def test_glucose_in_eight_laboratories(
    table: Array, mean: float, s_mean: float, s_within: float, s_reproducibility: float
) -> None:
    # statistics of ASTM E691 computed by us from the data; within one of the last digit of the
    # printed table as remembered. s_R^2 = s_L^2 + s_r^2 with s_L^2 = s_mean^2 - s_r^2/3.
    fit = fit_fleet(_rows(table, 1.0), order=0)
    assert fit.beta[0, 0] == pytest.approx(mean, abs=5.1e-5)
    assert np.sqrt(fit.phi) == pytest.approx(s_within, abs=1e-4)
    assert np.sqrt(fit.spread[0, 0] + fit.phi) == pytest.approx(s_reproducibility, abs=1e-4)
    assert np.sqrt(8.0 * fit.solved.covariance[0, 0, 0]) == pytest.approx(s_mean, abs=1e-4)


def test_glucose_at_the_boundary_where_laboratories_do_not_differ() -> None:
    # material A: s_mean 0.6061 is below s_r/sqrt(3) of s_r = 1.0632 (computed by us, as above),
    # so the spread is exactly zero; exact: all readings then have one variance
    fit = fit_fleet(_rows(GLUCOSE_A, 1.0), order=0)
    pooled = (7.0 * 3.0 * 0.6061**2 + 16.0 * 1.0632**2) / 23.0
    assert fit.spread[0, 0] == pytest.approx(0.0, abs=1e-7)
    assert fit.beta[0, 0] == pytest.approx(41.5183, abs=5.1e-5)
    assert fit.phi == pytest.approx(pooled, rel=2e-4)
    assert fit.solved.covariance[0, 0, 0] == pytest.approx(pooled / 24.0, rel=2e-4)


@pytest.mark.parametrize("apart", [0.0, 0.5, 0.99])
def test_rows_that_differ_less_than_their_scatter_explains_have_no_spread(apart: float) -> None:
    # exact, balanced closed form with mean square between below mean square within: spread 0,
    # residual variance (SSB + SSW)/(N - 1), var(mean) that over N
    rows, columns = 6, 5
    within = np.tile([-0.2, -0.1, 0.0, 0.1, 0.2], (rows, 1))
    means = np.array([-2.5, -1.5, -0.5, 0.5, 1.5, 2.5])
    square_within = float((within**2).sum()) / (rows * (columns - 1))
    means = means * np.sqrt(apart * square_within / (columns * means.var(ddof=1)))
    table = 0.3 + means[:, None] + within
    fit = fit_fleet(_rows(table, 0.05), order=0)
    residual = float(((table - table.mean()) ** 2).sum()) / (rows * columns - 1)
    assert fit.spread[0, 0] == pytest.approx(0.0, abs=1e-6 * square_within)
    assert fit.phi * 0.05**2 == pytest.approx(residual, rel=1e-5)
    assert fit.solved.covariance[0, 0, 0] == pytest.approx(residual / 30.0, rel=1e-5, abs=0.0)


# ---- random level and slope


def test_sleep_study_with_uncorrelated_level_and_slope() -> None:
    # restricted fit "y ~ day + (day || subject)" of lme4: -2 log likelihood 1743.669, seen
    days = np.tile(np.arange(10.0), 18)
    points = fleet_points(days + 0.25, SLEEP_MS.ravel(), 20.0, np.repeat(np.arange(18), 10))
    sums = aircraft_sums(points).with_order(1)

    def deviance(logs: Array) -> float:
        level, slope, phi = np.exp(logs)
        return group_sums(sums, np.diag([level, slope]), float(phi), 1).deviance

    found = optimize.minimize(
        deviance, np.log([20.0, 5.0, 1.5]), method="Nelder-Mead", options={"xatol": 1e-6}
    )
    assert found.fun + 178.0 * np.log(2.0 * np.pi) == pytest.approx(1743.669, abs=5e-4)


@pytest.mark.parametrize("data", ["sleep", "dyestuff", "resistance"])
def test_studies_are_fitted_as_by_an_independent_program(data: str) -> None:
    # MixedLM of statsmodels, Powell's search: curve within 1e-4, variances within 1 %
    table, u, order = {
        "sleep": (SLEEP_MS, 20.0, 1),
        "dyestuff": (DYESTUFF, 20.0, 0),
        "resistance": (RESISTANCE, 0.05, 0),
    }[data]
    t = np.tile(np.arange(float(table.shape[1])), len(table))
    aircraft = np.repeat(np.arange(len(table)), table.shape[1])
    fit = fit_fleet(fleet_points(t + 0.25, table.ravel(), u, aircraft), order)
    x = t[:, None] ** np.arange(order + 1)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns of its own steps; what it ends in is compared
        other = MixedLM(table.ravel(), x, groups=aircraft, exog_re=x).fit(
            reml=True, method="powell", xtol=1e-10, ftol=1e-12, maxiter=4000
        )
    np.testing.assert_allclose(fit.beta[0], other.fe_params, rtol=1e-6)
    assert fit.phi * u**2 == pytest.approx(other.scale, rel=1e-3)
    np.testing.assert_allclose(fit.spread, other.cov_re, rtol=3e-3)
    free = table.size - order - 1
    assert fit.solved.deviance + free * np.log(2.0 * np.pi) == pytest.approx(
        -2.0 * other.llf, abs=1e-4
    )


# ---- outliers


@pytest.mark.parametrize(
    ("laboratories", "critical"),
    [(6, 1.887), (8, 2.126), (10, 2.290), (12, 2.412), (15, 2.549)],
)
def test_the_farthest_laboratory_at_the_critical_value_of_grubbs_is_at_the_level_of_five_percent(
    laboratories: int, critical: float
) -> None:
    # two-sided 5 % values of Grubbs' test in a public chemistry text, seen there and computed by
    # us. Exact: G beyond the table means |t| of the one left out beyond its 5 %/n limit. These
    # are the standings themselves; the search for outliers shares its level out among its looks.
    others = np.linspace(-1.0, 1.0, laboratories - 1)

    def g(far: float) -> float:
        y = np.r_[others, far]
        return float((far - y.mean()) / y.std(ddof=1))

    far = optimize.brentq(lambda value: g(value) - critical, 1.0, 100.0)
    levels = 0.03 + 0.02 * np.r_[others, far]
    points = fleet_points(0.25, levels, 1e-6, np.arange(laboratories))
    standings = all_standings(points, fit_fleet(points, order=0))
    adjusted = holm([standing.p_value for standing in standings])
    assert adjusted[-1] == pytest.approx(0.05, rel=0.07)
    assert np.all(adjusted[:-1] > 0.5)
