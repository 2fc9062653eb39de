"""A bad point is told from a bad aircraft."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm

from fleetcal.fleet.own_agreement import own_disagreements, own_tests
from fleetcal.fleet.pooled import fit_fleet
from tests.fleet.fleet_maker import fleet_points, random_points
from tests.fleet.simulations.invented_fleet import Plan, draw
from tests.fleet.simulations.own_points import name_nothing, name_point, name_sortie


def test_points_are_judged_by_the_deleted_residuals_of_an_independent_regression() -> None:
    # equal uncertainties, far too small: then the factor is free and the residuals are Student's t
    plane = np.repeat(np.arange(4), 6)
    rng = np.random.default_rng(1)
    lift, kappa = rng.uniform(0.1, 0.6, 24), rng.normal(0.0, 0.02, 24)
    tests = own_tests(fleet_points(lift, kappa, 0.001, plane), order=1)
    design = np.column_stack([(plane == a) * x for a in range(4) for x in (np.ones(24), lift)])
    deleted = sm.OLS(kappa, design).fit().get_influence().resid_studentized_external
    told = [t.away / t.u_away for t in tests if not t.is_sortie]
    np.testing.assert_allclose(told, deleted, rtol=1e-6)


def test_an_aircraft_off_by_any_level_and_tilt_changes_nothing() -> None:
    points = random_points(2, (8, 7, 9, 6))
    off = (points.aircraft == 1) * (3.0 - 2.0 * points.x)
    before = own_tests(points, 2)
    after = own_tests(replace(points, y=points.y + off), 2)
    np.testing.assert_allclose(
        [t.chance for t in after], [t.chance for t in before], rtol=1e-6, atol=1e-12
    )


def test_an_aircraft_with_one_or_two_points_gets_no_verdict_on_them() -> None:
    points = random_points(3, (1, 2, 8, 7))
    assert {t.aircraft for t in own_tests(points, 1)} == {2, 3}


@pytest.mark.long
@pytest.mark.parametrize(("scale", "tolerance"), [(0.6, 0.02), (1.0, 0.03)])
def test_chances_are_as_often_small_as_they_say(scale: float, tolerance: float) -> None:
    # with uncertainties claimed right the factor stays at 1 or above, which errs to the safe side
    chances = []
    for seed in range(60):
        points = draw(Plan(aircraft=8), np.random.default_rng(seed))
        small = replace(points, u_own=scale * points.u_own, u_shared=scale * points.u_shared)
        chances += [t.chance for t in own_tests(small, 1)]
    for level in (0.1, 0.5):
        share = float(np.mean(np.array(chances) < level))
        assert level - tolerance - 0.02 * (scale == 1.0) < share < level + 0.02


@pytest.mark.long
def test_a_bad_point_is_named_and_nothing_else() -> None:
    assert sum(name_point(Plan(aircraft=10), seed).alone for seed in range(20)) >= 18


@pytest.mark.long
def test_a_bad_sortie_of_three_is_named_and_none_of_its_points() -> None:
    named = [name_sortie(Plan(aircraft=10, sorties=3), seed) for seed in range(12)]
    assert sum(one.alone for one in named) >= 10


@pytest.mark.long
def test_a_bad_aircraft_names_none_of_its_points() -> None:
    named = [name_nothing(Plan(aircraft=10, offsets_kt=(5.0,)), seed) for seed in range(20)]
    assert not any(d.found.aircraft == 0 for one in named for d in one.found)


def test_of_three_points_off_their_line_nobody_can_tell_which() -> None:
    rng = np.random.default_rng(5)
    plane = np.repeat(np.arange(6), [3, 8, 8, 8, 8, 8])
    lift = np.concatenate([[0.15, 0.3, 0.5], np.tile(np.linspace(0.12, 0.55, 8), 5)])
    kappa = 0.03 + rng.normal(0.0, 0.01, len(plane))
    points = fleet_points(lift, kappa + 0.2 * (np.arange(len(plane)) == 1), 0.01, plane)
    (only,) = own_disagreements(points, fit_fleet(points, 1), odd=frozenset({0}))
    assert only.found.aircraft == 0
    assert len(only.or_these) == 2
