from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.next_points import (
    own_covariance,
    plan_points,
    split_evenly,
    width_after,
)
from fleetcal.fleet.pooled import fit_fleet
from fleetcal.fleet.sums import aircraft_sums
from fleetcal.fleet.usual_sortie import sortie_information
from tests.fleet.fleet_maker import fleet_points
from tests.fleet.performance_fleet import CLIMB, flown

SPEEDS = np.linspace(55.0, 130.0, 16)
LIFT = (45.0 / SPEEDS) ** 2


def uneven_fleet(seed, own=(60.0, 75.0), u=0.008):
    """Eight airframes over all speeds; the first has flown only some of them."""
    rng = np.random.default_rng(seed)
    plane = np.repeat(np.arange(8), 5)
    speeds = np.tile(np.linspace(60.0, 125.0, 5), 8)
    speeds[:5] = np.linspace(own[0], own[1], 5)
    lift = (45.0 / (speeds + rng.normal(0.0, 1.0, 40))) ** 2
    level, tilt = rng.normal(0.0, 0.02, 8)[plane], rng.normal(0.0, 0.06, 8)[plane]
    kappa = 0.03 + level + (0.06 + tilt) * (lift - 0.25) + rng.normal(0.0, u, 40)
    return fleet_points(lift, kappa, u, plane, u_shared=np.full((40, 1), 0.003))


def test_what_is_known_of_an_own_curve_is_the_textbook_formula():
    points = uneven_fleet(1)
    fit = fit_fleet(points, 1)
    told = own_covariance(fit, 0, 0)
    # all points at once: y = X beta + Z b + e, by the covariance of everything
    x = curve_basis(points.x, 1)
    spread = fit.averaged.mean_spread()
    same = points.aircraft[:, None] == points.aircraft
    together = same * (0.003**2 + 0.0) + np.diag(points.u_own**2)
    between = same * (x @ spread @ x.T)
    v = fit.phi * together + between
    inverse = np.linalg.inv(v)
    beta = np.linalg.inv(x.T @ inverse @ x)
    to_own = np.where(points.aircraft[:, None] == 0, x @ spread, 0.0)
    gain = np.eye(2) - to_own.T @ inverse @ x
    # covariance of beta + b of the first aircraft, best linear unbiased prediction
    textbook = gain @ beta @ gain.T + spread - to_own.T @ inverse @ to_own
    assert told == pytest.approx(textbook, rel=1e-5, abs=1e-12)


def test_a_new_aircraft_is_as_wide_as_group_and_spread_together():
    fit = fit_fleet(uneven_fleet(2), 1)
    told = own_covariance(fit, 0, None)
    assert np.all(np.linalg.eigvalsh(told - fit.averaged.mean_spread()) > 0.0)


def test_the_plan_goes_where_the_curve_is_widest_and_keeps_its_promise():
    fit = fit_fleet(uneven_fleet(3), 1)
    covariance = own_covariance(fit, 0, 0)
    scale = SPEEDS  # knots for each kappa, about
    plan = plan_points(covariance, LIFT, LIFT, scale, 0.008, 0.003, 4)
    assert SPEEDS[plan.chosen[0]] > 110.0
    widths = [np.max(w * scale) for w in (plan.before, *plan.after)]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.6 * widths[0]
    again = width_after(covariance, LIFT[plan.chosen], LIFT, 0.008, 0.003)
    assert plan.after[-1] == pytest.approx(again, rel=1e-12)


@pytest.mark.long
def test_the_promised_width_is_the_scatter_of_what_then_happens():
    # true curve drawn from what is known, four planned points measured, curve estimated anew
    fit = fit_fleet(uneven_fleet(4), 1)
    covariance = own_covariance(fit, 0, 0)
    plan = plan_points(covariance, LIFT, LIFT, SPEEDS, 0.008, 0.003, 4)
    rng = np.random.default_rng(5)
    at = LIFT[plan.chosen]
    x, rows = curve_basis(at, 1), curve_basis(LIFT, 1)
    noise = np.diag(np.full(4, 0.008**2)) + 0.003**2
    gain = covariance @ x.T @ np.linalg.inv(x @ covariance @ x.T + noise)
    errors = []
    for _ in range(3000):
        truth = rng.multivariate_normal(np.zeros(2), covariance)
        seen = x @ truth + rng.multivariate_normal(np.zeros(4), noise)
        errors.append(rows @ (gain @ seen - truth))
    assert np.std(errors, axis=0) == pytest.approx(plan.after[-1], rel=0.06)


@pytest.mark.parametrize("own", [(60.0, 75.0), (80.0, 100.0), (100.0, 125.0)])
@pytest.mark.parametrize(("order", "points"), [(1, 3), (2, 4)])
def test_a_plan_shrinks_the_largest_band_more_than_points_equally_spaced(order, points, own):
    # without exchanges the first choice of a parabola is often poor: 0.7 of equal spacing
    gains = []
    for seed in range(12):
        covariance = own_covariance(fit_fleet(uneven_fleet(seed, own), order), 0, 0)
        plan = plan_points(covariance, LIFT, LIFT, SPEEDS, 0.008, 0.003, points)
        spaced = (45.0 / np.linspace(55.0, 130.0, points)) ** 2
        equal = width_after(covariance, spaced, LIFT, 0.008, 0.003)
        first = np.max(plan.before * SPEEDS)
        planned = first - np.max(plan.after[-1] * SPEEDS)
        gains.append(planned / (first - np.max(equal * SPEEDS)))
    assert min(gains) >= 1.0
    assert np.mean(gains) > 1.02


def test_all_candidates_may_be_repeated_even_if_there_are_as_many_points():
    fit = fit_fleet(uneven_fleet(3), 1)
    ends = LIFT[[0, 1, 15]]
    plan = plan_points(own_covariance(fit, 0, 0), ends, LIFT, SPEEDS, 0.008, 0.003, 3)
    assert plan.chosen.tolist() == [2, 2, 2]


def test_climbs_are_planned_by_the_same_design():
    fit = fit_fleet(flown(CLIMB, np.random.default_rng(6)), 2)
    plan = plan_points(own_covariance(fit, 0, None), LIFT, LIFT, np.ones(16), 0.0008, 0.0002, 3)
    assert {0, 15} <= set(plan.chosen.tolist())  # the group knows the bend, not the aircraft's tilt


def test_what_a_sortie_adds_is_what_its_points_add_to_the_sums():
    own = np.array([0.004, 0.008, 0.006])
    points = fleet_points(LIFT[:3], 0.0, own, [0, 0, 0], u_shared=np.full((3, 1), 0.005))
    sums = aircraft_sums(points).products[0, :3, :3]
    assert sortie_information(LIFT[None, :3], 2, own, 0.005)[0] == pytest.approx(sums, rel=1e-9)


@pytest.mark.parametrize("order", [1, 2])
def test_no_choice_beats_the_plan_and_many_points_are_nearly_as_well_placed(order, monkeypatch):
    covariance = own_covariance(fit_fleet(uneven_fleet(6, (85.0, 100.0)), order), 0, 0)
    few = LIFT[::3]
    told = plan_points(covariance, few, LIFT, SPEEDS, 0.008, 0.003, 4)
    best = min(
        np.max(width_after(covariance, few[list(choice)], LIFT, 0.008, 0.003) * SPEEDS)
        for choice in product(range(len(few)), repeat=4)
    )
    assert np.max(told.after[-1] * SPEEDS) == pytest.approx(best, rel=1e-9)
    monkeypatch.setattr("fleetcal.fleet.next_points._MOST_TRIED", 1)
    by_exchange = plan_points(covariance, few, LIFT, SPEEDS, 0.008, 0.003, 4)
    assert np.max(by_exchange.after[-1] * SPEEDS) < 1.03 * best


def test_points_are_flown_where_they_tell_most_for_their_uncertainty():
    covariance = np.diag([0.02**2, 0.05**2])
    poor_slow = np.where(SPEEDS < 100.0, 0.05, 0.004)
    plan = plan_points(covariance, LIFT, LIFT, np.ones(16), poor_slow, 0.0, 3)
    assert np.min(SPEEDS[plan.chosen]) >= 100.0


def test_no_split_over_two_sorties_beats_the_plan_and_it_beats_one_sortie():
    covariance = own_covariance(fit_fleet(uneven_fleet(6, (85.0, 100.0)), 1), 0, 0)
    few = LIFT[::4]
    told = plan_points(covariance, few, LIFT, SPEEDS, 0.008, 0.01, 4, sorties=2)
    assert sorted(told.sortie.tolist()) == [0, 0, 1, 1]
    known = np.linalg.inv(covariance)
    rows = curve_basis(LIFT, 1)

    def largest(first, second):
        both = [sortie_information(few[None, list(s)], 1, 0.008, 0.01)[0] for s in (first, second)]
        after = np.linalg.inv(known + sum(both))
        return np.max(np.sqrt(np.einsum("xi,ij,xj->x", rows, after, rows)) * SPEEDS)

    pairs = list(product(range(len(few)), repeat=2))
    best = min(largest(first, second) for first in pairs for second in pairs)
    assert np.max(told.after[-1] * SPEEDS) == pytest.approx(best, rel=1e-9)
    one = plan_points(covariance, few, LIFT, SPEEDS, 0.008, 0.01, 4)
    assert best < np.max(one.after[-1] * SPEEDS)


@pytest.mark.parametrize("order", [1, 2])
def test_runs_of_several_sorties_found_by_exchange_are_nearly_the_best(order, monkeypatch):
    covariance = own_covariance(fit_fleet(uneven_fleet(7), order), 0, 0)
    few = LIFT[::2]
    planned = [plan_points(covariance, few, LIFT, SPEEDS, 0.008, 0.01, 4, sorties=2)]
    monkeypatch.setattr("fleetcal.fleet.next_points._MOST_TRIED", 1)
    planned.append(plan_points(covariance, few, LIFT, SPEEDS, 0.008, 0.01, 4, sorties=2))
    best, found = (np.max(plan.after[-1] * SPEEDS) for plan in planned)
    assert best <= found < 1.03 * best


@pytest.mark.parametrize(("count", "parts", "each"), [(6, 2, (3, 3)), (7, 3, (3, 2, 2))])
def test_runs_are_split_evenly(count, parts, each):
    assert split_evenly(count, parts) == each
