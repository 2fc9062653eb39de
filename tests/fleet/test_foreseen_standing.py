"""Chances of a settled verdict, and the pieces they are drawn from."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.fleet.foreseen_standing import (
    PlannedSortie,
    Question,
    draw_own_curve,
    foresee_standing,
    results_of,
    settled,
)
from fleetcal.fleet.judged_instead import judge_instead, measured_again
from fleetcal.fleet.next_points import own_covariance
from fleetcal.fleet.outliers import judge_fleet
from fleetcal.fleet.standing import Departures, compare_versions, rest_of_fleet
from fleetcal.fleet.usual_sortie import sortie_information
from tests.fleet.fleet_maker import level_fleet

LIFT = np.array([0.12, 0.3, 0.58])
QUESTION = Question(LIFT, np.full(3, 50.0), 2.0, 0.05)


def planned(u=0.01, shared=0.004):
    information = sortie_information(LIFT[None], 1, u, shared)[0]
    return PlannedSortie(information, (-0.13, 0.33))


def test_versions_judged_together_are_judged_as_one_by_one():
    verdicts = judge_fleet(level_fleet(1, 8, 5), order=1)
    sums = verdicts.fit.sums
    gone = verdicts.suspects | {2}
    averaged, rest, others = rest_of_fleet(sums, 1, verdicts.fit, gone, 0)
    assert others == 8 - len(gone)
    ((alone, _),) = judge_instead(verdicts, 2, [measured_again(sums, 2, 3.0)])
    products = 3.0 * sums.products[2] / averaged.phi
    right = np.array([products[:-1, -1], 2.0 * products[:-1, -1]])
    together = compare_versions(products[:-1, :-1], right, averaged, rest, sums.reach[2])
    assert together.p_value[0] == pytest.approx(alone.p_value, rel=1e-9)
    assert together.departure[0] == pytest.approx(alone.departure, rel=1e-9)
    assert together.covariance[0] == pytest.approx(alone.covariance, rel=1e-9)
    assert together.p_value[1] != pytest.approx(alone.p_value, rel=0.01)


def test_drawn_curves_scatter_by_what_is_not_known_of_the_aircraft():
    points = level_fleet(2, 30, 4, u=0.03)
    verdicts = judge_fleet(points, order=1)
    averaged, rest, _ = rest_of_fleet(verdicts.fit.sums, 1, verdicts.fit, frozenset({0}), 0)
    own = verdicts.fit.sums.products[0] / averaged.phi
    drawn = draw_own_curve(averaged, rest, own, 20_000, np.random.default_rng(3))
    known = own_covariance(verdicts.fit, 0, 0)
    assert np.sqrt(np.diag(np.cov(drawn.T))) == pytest.approx(np.sqrt(np.diag(known)), rel=0.1)
    without = draw_own_curve(averaged, rest, 0.0 * own, 20_000, np.random.default_rng(3))
    assert np.all(np.std(without, axis=0) > 1.1 * np.std(drawn, axis=0))


def test_results_of_sorties_have_mean_and_scatter_of_their_points():
    information = planned().information
    curve = np.tile([0.03, 0.06], (40_000, 1))
    drawn = results_of(information, curve, 3, np.random.default_rng(4))
    assert np.mean(drawn, axis=0) == pytest.approx(3.0 * information @ curve[0], rel=0.01)
    assert np.cov(drawn.T) == pytest.approx(3.0 * information, rel=0.04, abs=1.0)


def test_settled_is_outside_or_inside_and_narrow():
    narrow, wide = np.diag([0.01**2, 1e-8]), np.diag([0.03**2, 1e-8])
    found = Departures(
        np.array([[0.01, 0.0], [0.01, 0.0], [0.06, 0.0], [0.06, 0.0], [0.06, 0.0]]),
        np.array([narrow, wide, narrow, narrow, narrow]),
        np.zeros(5),
        np.array([0.5, 0.5, 0.001, 0.03, 0.2]),
    )
    adjusted = np.array([1.0, 1.0, 0.01, 0.3, 1.0])
    told, outside = settled(QUESTION, found, adjusted)
    # far off but not surely so: undecided
    assert told.tolist() == [True, False, True, False, True]
    assert outside.tolist() == [False, False, True, False, False]


@pytest.mark.parametrize(("off", "low", "high"), [(0.0, 0.0, 0.05), (0.25, 0.95, 1.0)])
def test_an_aircraft_far_off_is_foreseen_outside_and_one_inside_is_not(off, low, high):
    points = level_fleet(5, 12, 5, spread=0.012)
    moved = np.where(points.aircraft == 0, off, 0.0)
    verdicts = judge_fleet(replace(points, y=points.y + moved), order=1)
    chances = foresee_standing(
        verdicts, 0, 0, planned(), QUESTION, (1, 6), 200, np.random.default_rng(6)
    )
    assert np.all((chances[:, 1] >= low) & (chances[:, 1] <= high))
    assert np.all(chances[:, 0] >= chances[:, 1])


def test_a_new_aircraft_is_foreseen_and_a_group_too_small_is_not():
    sortie, draws = planned(u=0.03), 200
    verdicts = judge_fleet(level_fleet(7, 12, 5, spread=0.01), order=1)
    rng = np.random.default_rng(8)
    chances = foresee_standing(verdicts, 0, None, sortie, QUESTION, (1, 12), draws, rng)
    assert chances[0, 0] < 0.5 < chances[1, 0]
    small = judge_fleet(level_fleet(7, 3, 5), order=1)
    told = foresee_standing(small, 0, 0, sortie, QUESTION, (1,), draws, rng)
    assert np.isnan(told).all()
