"""Differences of two curves against exact tests, and how often chance calls one."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from fleetcal.fleet.contrast import contrast
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import fit_fleet, fit_sums
from fleetcal.fleet.sums import aircraft_sums
from tests.fleet.fleet_maker import fleet_points, level_fleet


def _two_groups(first: np.ndarray, second: np.ndarray, u: float) -> FleetPoints:
    values = np.r_[first, second]
    groups = np.repeat([0, 1], [len(first), len(second)])
    return fleet_points(0.25, values, u, np.arange(len(values)), group_of=groups)


@pytest.mark.parametrize("shift", [0.0, 0.02, 0.05])
def test_two_groups_of_levels_are_compared_by_students_t(shift: float) -> None:
    # exact while the points have hardly any error: two samples with one variance (scipy)
    rng = np.random.default_rng(41)
    first, second = rng.normal(0.03, 0.02, 7), rng.normal(0.03 + shift, 0.02, 9)
    found = contrast(fit_fleet(_two_groups(first, second, 1e-4), order=0), 0, 1)
    told = stats.ttest_ind(second, first)
    assert found.best[0] == pytest.approx(second.mean() - first.mean(), rel=1e-6)
    assert found.p_value == pytest.approx(told.pvalue, rel=0.02, abs=1e-5)
    band = found.band(np.array([0.25]))
    limits = told.confidence_interval(0.95)
    np.testing.assert_allclose([band.low[0], band.high[0]], [limits.low, limits.high], rtol=0.02)


def test_the_difference_turns_its_sign_with_the_order_of_the_groups() -> None:
    rng = np.random.default_rng(42)
    points = _two_groups(rng.normal(0.0, 0.02, 6), rng.normal(0.05, 0.02, 6), 0.005)
    fit = fit_fleet(points, order=0)
    one, other = contrast(fit, 0, 1), contrast(fit, 1, 0)
    assert one.p_value == pytest.approx(other.p_value, rel=1e-9)
    np.testing.assert_allclose(one.best, -other.best)


@pytest.mark.long
def test_the_smallest_shown_is_what_four_in_five_simulations_show() -> None:
    # a difference of the told size must leave zero outside the band in about 80 % of fleets
    lift = np.array([0.25])
    sizes, shown = [], []
    for seed in range(60):
        fleet = level_fleet(seed, 20, 5, spread=0.01, u=0.008)
        groups = (np.arange(20) >= 10).astype(int)
        even = fleet_points(fleet.x, fleet.y, fleet.u_own, fleet.aircraft, group_of=groups)
        sizes.append(contrast(fit_fleet(even, order=1), 0, 1).smallest_shown(lift)[0])
    size = float(np.mean(sizes))
    for seed in range(60, 160):
        fleet = level_fleet(seed, 20, 5, spread=0.01, u=0.008)
        groups = (np.arange(20) >= 10).astype(int)
        moved = fleet.y + size * groups[fleet.aircraft]
        apart = fleet_points(fleet.x, moved, fleet.u_own, fleet.aircraft, group_of=groups)
        band = contrast(fit_fleet(apart, order=1), 0, 1).band(lift)
        shown.append(band.low[0] > 0.0)
    # 100 fleets: Monte Carlo error 4 %
    assert 0.68 < np.mean(shown) < 0.92


@pytest.mark.long
def test_two_groups_with_one_curve_are_called_different_as_rarely_as_stated() -> None:
    alarms = []
    for seed in range(600):
        fleet = level_fleet(1000 + seed, 16, 5, spread=0.02, u=0.008)
        groups = (np.arange(16) >= 8).astype(int)
        even = fleet_points(fleet.x, fleet.y, fleet.u_own, fleet.aircraft, group_of=groups)
        alarms.append(contrast(fit_fleet(even, order=1), 0, 1).p_value < 0.05)
    # 600 fleets: Monte Carlo error 0.9 %
    assert 0.02 < np.mean(alarms) < 0.08


def test_sorties_that_should_be_alike_are_compared_with_more_power_than_strangers() -> None:
    # six sorties of six airframes on either side of nothing but their own uncertainty
    fleet = level_fleet(47, 8, 5, spread=0.0, u=0.008)
    groups = np.arange(8) // 2
    moved = fleet.y + 0.02 * (groups[fleet.aircraft] == 1)
    points = fleet_points(fleet.x, moved, fleet.u_own, fleet.aircraft, group_of=groups)
    sums = aircraft_sums(points).with_order(1)
    alike = contrast(fit_sums(sums, 4, likely_alike=True), 0, 1)
    strangers = contrast(fit_sums(sums, 4), 0, 1)
    lift = np.array([0.25])
    narrow, wide = alike.band(lift), strangers.band(lift)
    assert narrow.high[0] - narrow.low[0] < 0.95 * (wide.high[0] - wide.low[0])
    assert alike.p_value < strangers.p_value
