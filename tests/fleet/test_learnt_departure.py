"""What a mean has beyond its curve: against complete matrices, and where nothing shows it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.contrast import contrast
from fleetcal.fleet.curve_departure import STEPS, CurveDeparture
from fleetcal.fleet.learnt_departure import SHARE, SIZES, learnt_departures
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.pooled import PooledFit, fit_fleet
from fleetcal.fleet.port_pooling import pool_pairings
from tests.fleet.dense_model import departure_covariance, error_covariance
from tests.fleet.simulations.invented_fleet import Plan, draw, lift_at, mean_curve

#: Between the speeds flown and at them.
LIFT = lift_at(np.array([73.0, 80.0, 88.0, 104.0, 115.0, 127.0, 138.0]))


def learnt(points: FleetPoints, fit: PooledFit, group: int = 0) -> CurveDeparture:
    """Return the departure of a group."""
    found = learnt_departures(points, fit)[group]
    assert found is not None
    return found


def climbs(x: Array, ends: Array) -> Array:
    """Return the steps of a walk from the slow end to x, point by point."""
    edges = np.linspace(-np.log(ends.max()), -np.log(ends.min()), STEPS + 1)
    steps = [np.interp(-np.log(x), edges[k : k + 2], [0.0, 1.0]) for k in range(STEPS)]
    return np.column_stack(steps)


def dense_departure(points: FleetPoints, fit: PooledFit, at: Array) -> tuple[Array, Array]:
    """Return mean and variance beyond the curve of generalised least squares, one group."""
    x, walk = curve_basis(points.x, fit.order), climbs(points.x, points.x)
    rows = np.hstack([curve_basis(at, fit.order), climbs(at, points.x)])
    v = fit.phi * error_covariance(points) + departure_covariance(points, fit.spread)
    inverse, p = np.linalg.inv(v), fit.order + 1
    plain = np.linalg.inv(x.T @ inverse @ x)
    taken = plain @ x.T @ inverse @ walk
    speeds = np.exp(np.linspace(np.log(points.x.max()), np.log(points.x.min()), 60))
    left = climbs(speeds, points.x) - curve_basis(speeds, fit.order) @ taken
    unit = np.sqrt(np.mean(np.diag(v)) / np.mean(np.sum(left**2, axis=1)))
    log_weight, means, variances = [], [], []
    middles = np.sqrt(SIZES[1:-1] * SIZES[2:])
    edges = np.r_[0.0, SIZES[1] ** 2 / middles[0], middles, np.inf]
    for size, chance in zip(SIZES, np.diff(stats.halfnorm.cdf(edges)), strict=True):
        tau = SHARE * unit * size
        both = np.linalg.inv(v + tau**2 * walk @ walk.T)
        covariance = np.linalg.inv(x.T @ both @ x)
        beta = covariance @ x.T @ both @ points.y
        rest = points.y - x @ beta
        deviance = rest @ both @ rest - np.linalg.slogdet(both)[1]
        log_weight.append(np.log(chance) - (deviance - np.linalg.slogdet(covariance)[1]) / 2.0)
        rises = tau**2 * walk.T @ both @ rest
        means.append(rows @ np.r_[beta, rises])
        pull = tau**2 * both @ walk
        known = covariance @ x.T @ pull
        block = tau**2 * np.eye(STEPS) - pull.T @ walk * tau**2
        block += pull.T @ x @ known
        joint = np.block([[covariance, -known], [-known.T, block]])
        variances.append(np.einsum("xi,ij,xj->x", rows, joint, rows))
    weight = np.exp(np.array(log_weight) - max(log_weight))
    weight /= weight.sum()
    middle = weight @ np.array(means)
    variance = weight @ (np.array(variances) + (np.array(means) - middle) ** 2)
    curve, known_curve = rows[:, :p] @ plain @ x.T @ inverse @ points.y, rows[:, :p] @ plain
    return middle - curve, variance - np.sum(known_curve * rows[:, :p], axis=1)


@pytest.mark.parametrize("order", [1, 2])
def test_the_departure_is_that_of_complete_matrices_averaged_over_its_size(order: int) -> None:
    plan = Plan(aircraft=5, shape="wavy", off_kt=0.8, ragged=True)
    points = draw(plan, np.random.default_rng(81))
    fit = fit_fleet(points, order)
    found = learnt(points, fit)
    shift, variance = dense_departure(points, fit, LIFT)
    np.testing.assert_allclose(found.shift(LIFT), shift, rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(found.variance(LIFT), variance, rtol=1e-6, atol=1e-12)
    np.testing.assert_allclose(found.mean_square(LIFT), variance + shift**2, rtol=1e-6)


@pytest.mark.parametrize(("speeds", "order"), [((100.0,), 0), ((80.0, 120.0), 1)])
def test_points_that_any_curve_goes_through_show_no_departure(
    speeds: tuple[float, ...], order: int
) -> None:
    points = draw(Plan(aircraft=6), np.random.default_rng(82))
    lift = np.resize(lift_at(np.array(speeds)), len(points.x))
    points = replace(points, x=lift)
    assert learnt_departures(points, fit_fleet(points, order)) == [None]
    fit, _ = fit_checked(points, order)
    np.testing.assert_array_equal(fit.departure_square(0, LIFT), np.zeros(len(LIFT)))


def test_the_departure_goes_with_the_unit_of_what_is_measured() -> None:
    points = draw(Plan(aircraft=8, shape="kinked", off_kt=0.6), np.random.default_rng(83))
    scaled = replace(
        points, y=250.0 * points.y, u_own=250.0 * points.u_own, u_shared=250.0 * points.u_shared
    )
    fit = fit_fleet(points, 2)
    same = replace(fit, spread=250.0**2 * fit.spread)
    one, other = learnt(points, fit), learnt(scaled, same)
    np.testing.assert_allclose(other.shift(LIFT), 250.0 * one.shift(LIFT), rtol=1e-8)
    np.testing.assert_allclose(other.variance(LIFT), 250.0**2 * one.variance(LIFT), rtol=1e-8)


def test_the_mean_is_less_sure_between_the_speeds_flown_than_at_them() -> None:
    points = draw(Plan(aircraft=20), np.random.default_rng(84))
    found = learnt(points, fit_fleet(points, 2))
    flown, between = lift_at(np.array([80.0, 95.0, 115.0])), lift_at(np.array([87.0, 105.0, 127.0]))
    assert np.all(found.variance(between) > found.variance(flown))


def test_bands_follow_a_wave_that_the_curve_misses_and_reach_to_the_curve() -> None:
    plan = Plan(aircraft=30, shape="wavy", off_kt=1.5)
    points = draw(plan, np.random.default_rng(85))
    fit, (check,) = fit_checked(points)
    plain = fit_fleet(points, fit.order)
    at = lift_at(np.array([80.0, 95.0, 115.0]))
    truth, band, narrow = mean_curve(plan, at), fit.mean_band(0, at), plain.mean_band(0, at)
    assert check.departure is not None
    assert np.any((truth < narrow.low) | (truth > narrow.high))
    assert np.all((band.low < truth) & (truth < band.high))
    for wide in (band, fit.next_band(0, at)):
        assert np.all((wide.low <= wide.centre) & (wide.centre <= wide.high))
        np.testing.assert_array_equal(wide.centre, narrow.centre)
    better = np.abs(band.centre + check.departure.shift(at) - truth)
    assert np.mean(better) < 0.5 * np.mean(np.abs(band.centre - truth))


def test_a_difference_of_groups_holds_the_departures_of_both_and_turns_its_sign() -> None:
    points = draw(Plan(aircraft=8, groups=2, shape="wavy", off_kt=1.0), np.random.default_rng(86))
    fit, _ = fit_checked(points, 2)
    plain = contrast(replace(fit, wider=()), 0, 1)
    band, turned, narrow = (
        found.band(LIFT) for found in (contrast(fit, 0, 1), contrast(fit, 1, 0), plain)
    )
    np.testing.assert_allclose(band.low, -turned.high, rtol=1e-9, atol=1e-12)
    assert np.all(band.high - band.low > narrow.high - narrow.low)
    np.testing.assert_array_equal(band.centre, narrow.centre)
    moved = learnt(points, fit, 1).shift(LIFT) - learnt(points, fit, 0).shift(LIFT)
    middle = (band.low + band.high - narrow.low - narrow.high) / 2.0
    np.testing.assert_allclose(middle, moved, atol=0.05 * np.max(np.abs(moved)))


@pytest.mark.parametrize("alike", [True, False])
def test_groups_flown_alike_are_compared_as_if_nothing_departed(alike: bool) -> None:
    # both curves take up the same of one departure then, and nothing of it is a difference
    points = draw(Plan(aircraft=8, groups=2, shape="wavy", off_kt=1.0), np.random.default_rng(88))
    half = len(points.x) // 2
    if alike:
        x, u_own = np.tile(points.x[:half], 2), np.tile(points.u_own[:half], 2)
        points = replace(points, x=x, u_own=u_own)
    else:  # the second group slower by a tenth
        points = replace(points, x=np.r_[points.x[:half], points.x[half:] / 0.81])
    fit, _ = fit_checked(points, 2)
    plain = contrast(replace(fit, wider=()), 0, 1).p_value
    if alike:
        assert contrast(fit, 0, 1).p_value == pytest.approx(plain, rel=1e-6)
    else:
        assert contrast(fit, 0, 1).p_value > plain + 0.01


@pytest.mark.long
def test_the_shrunk_curve_of_a_pairing_holds_its_departure() -> None:
    points = draw(Plan(aircraft=6, groups=3, shape="wavy", off_kt=1.0), np.random.default_rng(87))
    fit, _ = fit_checked(points, 2)
    ports = np.zeros(3, dtype=np.int64)
    wide = pool_pairings(fit, ports).band(1, LIFT)
    narrow = pool_pairings(replace(fit, wider=()), ports).band(1, LIFT)
    assert np.all(wide.high - wide.low > narrow.high - narrow.low)
    np.testing.assert_array_equal(wide.centre, narrow.centre)
