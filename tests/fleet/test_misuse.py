"""Fleets that are too small, too poor or wrong: a sound answer or a FitError, never NaN."""

from __future__ import annotations

import warnings
from dataclasses import replace

import numpy as np
import pytest

from fleetcal.errors import FitError
from fleetcal.fleet.outliers import judge_fleet
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import PooledFit, fit_fleet
from tests.fleet.fleet_maker import fleet_points, level_fleet

SIX = level_fleet(71, 6, 5)
LIFT = np.array([0.1, 0.25, 0.6])


def _some(aircraft: int) -> FleetPoints:
    return SIX.without_aircraft(set(range(aircraft, 6)))


def _sound(points: FleetPoints, order: int | None = None) -> PooledFit:
    """Fit and judge, and insist on numbers everywhere."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        fit = fit_fleet(points, order)
        bands = [fit.mean_band(g, LIFT) for g in range(points.groups)]
        bands += [fit.next_band(g, LIFT) for g in range(points.groups)]
        verdicts = judge_fleet(points, order=order)
    for band in bands:
        assert np.all(np.isfinite([band.centre, band.low, band.high]))
        assert np.all(band.low < band.high)
    assert np.all(np.isfinite(fit.beta))
    assert np.all(np.isfinite(fit.spread))
    assert np.all(np.linalg.eigvalsh(fit.averaged.covariance) > 0.0)
    for standing, adjusted in zip(verdicts.standings, verdicts.adjusted, strict=True):
        if np.isfinite(standing.p_value):
            assert np.all(np.isfinite(standing.departure))
            assert np.all(np.isfinite(standing.covariance))
            assert standing.ratio >= 0.0
            assert standing.p_value <= adjusted <= 1.0
    return fit


@pytest.mark.parametrize("aircraft", [1, 2])
def test_one_aircraft_or_two_make_no_group(aircraft: int) -> None:
    with pytest.raises(FitError, match=f"only {aircraft} aircraft"):
        fit_fleet(_some(aircraft))
    with pytest.raises(FitError, match=f"only {aircraft} aircraft"):
        judge_fleet(_some(aircraft))


def test_nothing_at_all_makes_no_group() -> None:
    nothing = FleetPoints(
        x=np.zeros(0),
        y=np.zeros(0),
        u_own=np.zeros(0),
        u_shared=np.zeros((0, 0)),
        sortie=np.zeros(0, dtype=np.int64),
        aircraft=np.zeros(0, dtype=np.int64),
        group_of=np.zeros(0, dtype=np.int64),
    )
    with pytest.raises(FitError, match="only 0 aircraft"):
        fit_fleet(nothing)


def test_three_aircraft_have_a_curve_and_bands_but_no_verdicts() -> None:
    _sound(_some(3))
    assert np.all(np.isnan(judge_fleet(_some(3)).adjusted))


@pytest.mark.parametrize("lift", [0.1, 0.25, 0.4])
def test_all_points_at_one_speed_give_a_level_and_refuse_a_slope(lift: float) -> None:
    points = replace(SIX, x=np.full(30, lift))
    assert _sound(points).order == 0
    for order in (1, 2):
        with pytest.raises(FitError, match="too few different speeds"):
            fit_fleet(points, order)


def test_two_speeds_refuse_a_bend() -> None:
    points = replace(SIX, x=np.where(SIX.x > 0.3, 0.4, 0.1))
    _sound(points, 1)
    with pytest.raises(FitError, match="too few different speeds"):
        fit_fleet(points, 2)


def test_one_group_at_one_speed_refuses_a_slope_for_all() -> None:
    lift = np.where(SIX.aircraft < 3, 0.3, SIX.x)
    points = replace(SIX, x=lift, group_of=np.array([0, 0, 0, 1, 1, 1]))
    assert _sound(points).order == 0
    with pytest.raises(FitError, match="too few different speeds"):
        fit_fleet(points, 1)


def test_identical_points_have_bands_no_narrower_than_their_uncertainty() -> None:
    fit = _sound(fleet_points(0.3, 0.05, 0.01, SIX.aircraft))
    assert fit.beta[0, 0] == pytest.approx(0.05)
    assert fit.phi == 1.0
    band = fit.mean_band(0, np.array([0.3]))
    assert band.high[0] - band.low[0] > 2.0 * 1.96 * 0.01 / np.sqrt(30.0)


@pytest.mark.parametrize("slope", [0.0, 0.08])
def test_points_exactly_on_a_line_are_no_trouble(slope: float) -> None:
    fit = _sound(replace(SIX, y=0.02 + slope * SIX.x), 1)
    np.testing.assert_allclose(fit.beta[0], [0.02 + 0.25 * slope, slope], atol=1e-9)
    assert fit.phi == 1.0


@pytest.mark.parametrize(
    ("column", "value", "told"),
    [
        ("u_own", 0.0, "no uncertainty"),
        ("u_own", -0.01, "no uncertainty"),
        ("u_own", np.nan, "no finite u_own"),
        ("u_own", np.inf, "no finite u_own"),
        ("y", np.nan, "no finite measured value"),
        ("x", np.inf, "no finite airspeed"),
    ],
)
def test_a_point_without_a_sound_value_is_refused(column: str, value: float, told: str) -> None:
    values = getattr(SIX, column).copy()
    values[7] = value
    with pytest.raises(FitError, match=told):
        replace(SIX, **{column: values})


def test_a_shared_term_that_is_no_number_is_refused() -> None:
    with pytest.raises(FitError, match="no finite u_shared"):
        replace(SIX, u_shared=np.full((30, 1), np.nan))


def test_columns_of_different_length_are_refused() -> None:
    with pytest.raises(FitError, match="differ in length"):
        replace(SIX, x=SIX.x[:-1])


@pytest.mark.parametrize(
    "group_of",
    [np.zeros(7, dtype=np.int64), np.zeros(5, dtype=np.int64), np.full(6, -1)],
    ids=["one aircraft has no points", "one aircraft has no group", "a group below zero"],
)
def test_aircraft_and_points_must_match(group_of: np.ndarray) -> None:
    with pytest.raises(FitError, match="do not match"):
        replace(SIX, group_of=group_of)


def test_a_group_number_nobody_belongs_to_is_an_empty_group() -> None:
    with pytest.raises(FitError, match="only 0 aircraft"):
        fit_fleet(replace(SIX, group_of=np.array([0, 0, 0, 2, 2, 2])))


@pytest.mark.parametrize("order", [-1, 3])
def test_an_order_that_is_not_offered_is_refused(order: int) -> None:
    with pytest.raises(FitError, match=f"order {order} is not offered"):
        fit_fleet(SIX, order)


def test_shared_terms_all_zero_are_no_terms() -> None:
    plain, with_zeros = fit_fleet(SIX, 1), fit_fleet(replace(SIX, u_shared=np.zeros((30, 3))), 1)
    np.testing.assert_allclose(with_zeros.beta, plain.beta, rtol=1e-12)
    np.testing.assert_allclose(with_zeros.spread, plain.spread, rtol=1e-9)


def test_the_same_shared_term_twice_is_one_of_twice_the_variance() -> None:
    rng = np.random.default_rng(72)
    term = rng.normal(0.0, 0.01, (30, 1))
    twice = fit_fleet(replace(SIX, u_shared=np.hstack([term, term])), 1)
    once = fit_fleet(replace(SIX, u_shared=np.sqrt(2.0) * term), 1)
    np.testing.assert_allclose(twice.beta, once.beta, rtol=1e-6)
    _sound(replace(SIX, u_shared=np.hstack([term, term])))


def test_a_fleet_without_any_spread_is_an_ordinary_answer() -> None:
    rng = np.random.default_rng(73)
    same = np.tile(rng.normal(0.03, 0.01, 5), 6)
    fit = _sound(replace(SIX, y=same), 1)
    np.testing.assert_allclose(fit.spread, 0.0, atol=1e-9)


@pytest.mark.parametrize("order", [None, 0, 1, 2])
def test_aircraft_with_one_point_each_are_a_fleet(order: int | None) -> None:
    rng = np.random.default_rng(74)
    lift = rng.uniform(0.1, 0.6, 12)
    kappa = 0.03 + 0.06 * (lift - 0.25) + rng.normal(0.0, 0.02, 12)
    fit = _sound(fleet_points(lift, kappa, 0.01, np.arange(12)), order)
    assert fit.phi == 1.0


def test_some_aircraft_with_one_point_among_others_are_a_fleet() -> None:
    keep = np.r_[0:5, 5, 10, 15:20, 20, 25]
    points = fleet_points(SIX.x[keep], SIX.y[keep], SIX.u_own[keep], SIX.aircraft[keep])
    _sound(points)


@pytest.mark.parametrize("u", [1e-9, 1e6])
def test_one_point_of_absurd_uncertainty_is_sound_or_refused(u: float) -> None:
    points = replace(SIX, u_own=np.where(np.arange(30) == 3, u, SIX.u_own))
    if u < 1.0:
        with pytest.raises(FitError, match="outweighs all"):
            fit_fleet(points)
    else:
        _sound(points)


def test_points_that_scatter_beyond_all_reason_are_refused() -> None:
    with pytest.raises(FitError, match="times more than their stated uncertainties"):
        fit_fleet(replace(SIX, u_own=np.full(30, 1e-9)))
    with pytest.raises(FitError, match="times more than their stated uncertainties"):
        judge_fleet(replace(SIX, y=SIX.y + 1e6 * (SIX.aircraft == 2)))


@pytest.mark.parametrize("offset", [1.0, 10.0, 100.0])
def test_an_aircraft_far_off_by_a_slip_is_found_however_far(offset: float) -> None:
    points = replace(SIX, y=SIX.y + offset * (SIX.aircraft == 2))
    _sound(points)
    verdicts = judge_fleet(points)
    assert verdicts.suspects == {2}
    assert np.flatnonzero(verdicts.adjusted < 0.05).tolist() == [2]
