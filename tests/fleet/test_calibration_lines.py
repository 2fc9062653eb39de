"""Certified calibration lines, and weighted least squares by an independent program.

One instrument is one aircraft, and no aircraft differs from any other (D = 0):
what is left of the pooled fit is a generalised least-squares curve with the
residual variance phi u^2.
"""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.likelihood import GroupSums, departure_columns, group_sums
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.pooled import fit_sums
from fleetcal.fleet.sums import aircraft_sums
from tests.fleet.dense_model import curve_matrix, error_covariance
from tests.fleet.fleet_maker import fleet_points, level_fleet, random_points
from tests.fleet.published_data import (
    NORRIS_X,
    NORRIS_Y,
    PONTIUS_DEFLECTION,
    THERMOMETER_CORRECTION,
    THERMOMETER_DEGC,
)


def _one_instrument(t: Array, y: Array, u: float) -> FleetPoints:
    return fleet_points(t + 0.25, y, u, np.zeros(len(y), dtype=np.int64))


def _curve(points: FleetPoints, order: int, phi: float = 1.0) -> GroupSums:
    size = departure_columns(order)
    sums = aircraft_sums(points).with_order(order)
    return group_sums(sums, np.zeros((size, size)), phi, points.groups)


def _errors(solved: GroupSums) -> Array:
    return np.asarray(np.sqrt(np.diag(solved.covariance[0])))


# ---- NIST Statistical Reference Datasets: certified values, to their digits


def test_norris_ozone_monitor_line() -> None:
    # certified values of Norris.dat, seen: both coefficients, their standard deviations,
    # residual sum of squares and standard deviation
    unit = 500.0
    points = _one_instrument(NORRIS_X / unit, NORRIS_Y, 0.5)
    line = _curve(points, 1)
    scale = np.array([1.0, unit])
    np.testing.assert_allclose(
        line.beta[0] / scale, [-0.262323073774029, 1.00211681802045], rtol=1e-10
    )
    squares = 0.25 * float(line.misfit[0])
    assert squares == pytest.approx(26.6173985294224, rel=1e-9)
    assert np.sqrt(squares / 34.0) == pytest.approx(0.884796396144373, rel=1e-9)
    certified = np.array([0.232818234301152, 0.429796848199937e-3])
    np.testing.assert_allclose(
        _errors(_curve(points, 1, squares / 34.0 / 0.25)) / scale, certified, rtol=1e-9
    )


def test_pontius_load_cell_parabola() -> None:
    # certified values of Pontius.dat, a copy seen: three coefficients, their standard
    # deviations, residual sum of squares and standard deviation
    unit, u = 1.0e6, 1e-4
    load = np.tile(150_000.0 * np.arange(1, 21), 2)
    points = _one_instrument(load / unit, PONTIUS_DEFLECTION, u)
    parabola = _curve(points, 2)
    scale = unit ** np.arange(3)
    certified = [0.673565789473684e-3, 0.732059160401003e-6, -0.316081871345029e-14]
    np.testing.assert_allclose(parabola.beta[0] / scale, certified, rtol=1e-9)
    squares = u**2 * float(parabola.misfit[0])
    # a difference of sums 4e7 times as large, so half of the digits are gone
    assert squares == pytest.approx(0.155761768796992e-5, rel=1e-6, abs=0.0)
    assert np.sqrt(squares / 37.0) == pytest.approx(0.205177424076185e-3, rel=1e-6, abs=0.0)
    certified = [0.107938612033077e-3, 0.157817399981659e-9, 0.486652849992036e-16]
    np.testing.assert_allclose(
        _errors(_curve(points, 2, squares / 37.0 / u**2)) / scale, certified, rtol=1e-6
    )


@pytest.mark.parametrize(
    ("t", "y", "u", "order", "certified"),
    [
        (NORRIS_X / 500.0, NORRIS_Y, 0.5, 1, 0.884796396144373),
        (
            np.tile(0.15 * np.arange(1, 21), 2),
            PONTIUS_DEFLECTION,
            1e-4,
            2,
            0.205177424076185e-3,
        ),
    ],
    ids=["Norris", "Pontius"],
)
def test_the_search_finds_the_certified_residual_standard_deviation(
    t: Array, y: Array, u: float, order: int, certified: float
) -> None:
    # one instrument tells nothing of a spread between instruments, so phi alone is found
    fit = fit_sums(aircraft_sums(_one_instrument(t, y, u)).with_order(order), 1)
    assert np.sqrt(fit.phi) * u == pytest.approx(certified, rel=5e-5, abs=0.0)
    np.testing.assert_allclose(
        fit.beta, _curve(_one_instrument(t, y, u), order, fit.phi).beta, rtol=1e-6
    )


# ---- GUM


def test_thermometer_correction_predicted_at_thirty_degrees() -> None:
    # JCGM 100:2008, H.3.4: b(30 degC) = -0.1494 with u = 0.0041, from correlated coefficients;
    # more digits computed by us from the published data
    points = _one_instrument(THERMOMETER_DEGC - 20.0, THERMOMETER_CORRECTION, 1.0)
    phi = float(_curve(points, 1).misfit[0]) / 9.0
    line = _curve(points, 1, phi)
    x = curve_basis(np.array([10.25]), 1)[0]
    u = np.sqrt(x @ line.covariance[0] @ x)
    assert x @ line.beta[0] == pytest.approx(-0.1494, abs=5e-5)
    assert u == pytest.approx(0.0041, abs=5e-5)
    assert x @ line.beta[0] == pytest.approx(-0.1493768, abs=5e-8)
    assert u == pytest.approx(0.0041386, abs=5e-8)


# ---- weighted and generalised least squares of statsmodels


@pytest.mark.parametrize("order", [0, 1, 2])
@pytest.mark.parametrize("seed", [81, 82, 83])
def test_own_uncertainties_weigh_as_in_an_independent_program(seed: int, order: int) -> None:
    points = random_points(seed, (8, 5, 7), terms=0)
    other = sm.WLS(points.y, curve_matrix(points, order), 1.0 / points.u_own**2).fit()
    plain = _curve(points, order)
    np.testing.assert_allclose(plain.beta[0], other.params, rtol=1e-9)
    assert plain.misfit[0] == pytest.approx(other.ssr, rel=1e-9)
    scaled = _curve(points, order, other.scale)
    np.testing.assert_allclose(scaled.covariance[0], other.cov_params(), rtol=1e-9)


@pytest.mark.parametrize("order", [0, 1, 2])
@pytest.mark.parametrize("terms", [1, 3])
def test_errors_shared_by_a_sortie_weigh_as_in_an_independent_program(
    terms: int, order: int
) -> None:
    points = random_points(84 + terms, (8, 5, 7, 6), terms=terms)
    other = sm.GLS(points.y, curve_matrix(points, order), error_covariance(points)).fit()
    plain = _curve(points, order)
    np.testing.assert_allclose(plain.beta[0], other.params, rtol=1e-8)
    np.testing.assert_allclose(
        plain.covariance[0], other.normalized_cov_params, rtol=1e-8, atol=1e-15
    )
    assert plain.misfit[0] == pytest.approx(other.ssr, rel=1e-8)


@pytest.mark.parametrize("order", [0, 1, 2])
def test_the_fit_of_aircraft_all_alike_is_one_line_through_all_their_points(order: int) -> None:
    # every aircraft has the same points: nothing differs between them, and the search finds so
    one = level_fleet(85, 1, 9, u=0.02)
    points = fleet_points(np.tile(one.x, 5), np.tile(one.y, 5), 0.005, np.repeat(np.arange(5), 9))
    other = sm.WLS(points.y, curve_matrix(points, order), 1.0 / points.u_own**2).fit()
    fit = fit_sums(aircraft_sums(points).with_order(order), 1)
    np.testing.assert_allclose(fit.spread, 0.0, atol=1e-8)
    np.testing.assert_allclose(fit.beta[0], other.params, rtol=1e-6)
    assert fit.phi == pytest.approx(other.scale, rel=1e-4)
    np.testing.assert_allclose(fit.solved.covariance[0], other.cov_params(), rtol=1e-3)
