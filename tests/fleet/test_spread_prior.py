"""What is known of the spread beforehand, and what is learnt of it from other types."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate, stats

from fleetcal.fleet.outliers import judge_fleet
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import fit_fleet
from fleetcal.fleet.seen_spread import seen_spread
from fleetcal.fleet.spread_prior import SpreadPrior
from fleetcal.fleet.standing import all_standings
from fleetcal.services.curves.usual_spread import USUAL_KT, UsualSpread, learnt_spread
from tests.fleet.simulations.invented_fleet import KAPPA_PER_KT, Plan, draw

KNOWN = SpreadPrior(level=0.02, tilt=0.04, level_worth=8.0, tilt_worth=6.0)


def levels(values, u=1e-5):
    """One point of each aircraft, all at one speed, with hardly any error of its own."""
    count = len(values)
    number = np.arange(count)
    return FleetPoints(
        x=np.full(count, 0.25),
        y=np.array(values),
        u_own=np.full(count, u),
        u_shared=np.zeros((count, 0)),
        sortie=number,
        aircraft=number,
        group_of=np.zeros(count, dtype=np.int64),
    )


@pytest.mark.parametrize("coefficient", [0, 1])
def test_chances_of_cells_are_those_of_a_scaled_inverse_chi_square(coefficient):
    usual, worth = [(0.02, 8.0), (0.04, 6.0)][coefficient]
    edges = usual * np.array([0.3, 0.8, 1.0, 1.7, 5.0])
    found = np.exp(KNOWN.log_chance(coefficient, edges))
    variance = stats.invgamma(worth / 2.0, scale=worth * usual**2 / 2.0)
    for low, high, chance in zip(np.r_[0.0, edges[:-1]], edges, found, strict=True):
        expected, _ = integrate.quad(variance.pdf, low**2, high**2)
        assert chance == pytest.approx(expected, rel=1e-6, abs=1e-12)


@pytest.mark.parametrize("count", [5, 10])
@pytest.mark.parametrize("worth", [4.0, 8.0])
def test_a_p_value_is_that_of_students_t_where_the_values_are_known_exactly(count, worth):
    # the textbook answer for the next value of a normal sample with a conjugate prior
    rng = np.random.default_rng(count)
    values = 0.02 * rng.standard_normal(count)
    values[0] += 0.07
    points = levels(values)
    known = replace(KNOWN, level_worth=worth)
    fit = replace(fit_fleet(points, 0), known=known)
    for aircraft, standing in enumerate(all_standings(points, fit)):
        rest = np.delete(values, aircraft)
        free = worth + len(rest) - 1
        squares = worth * known.level**2 + np.sum((rest - rest.mean()) ** 2)
        scale = np.sqrt(squares / free * (1.0 + 1.0 / len(rest)))
        expected = 2.0 * stats.t.sf(abs(values[aircraft] - rest.mean()) / scale, free)
        assert standing.p_value == pytest.approx(expected, rel=0.05, abs=2e-5)


@pytest.mark.long
def test_what_is_known_tells_an_odd_aircraft_that_few_others_cannot_tell():
    plan = Plan(aircraft=6, offsets_kt=(5.0,))
    alone, together, wrong = 0, 0, 0
    for seed in range(12):
        points = draw(plan, np.random.default_rng(seed))
        known = judge_fleet(points, known=KNOWN).adjusted < 0.05
        alone += int(judge_fleet(points).adjusted[0] < 0.05)
        together += int(known[0])
        wrong += int(known[1:].any())
    assert together >= 10
    assert alone <= together - 4
    assert wrong <= 2


def test_a_larger_supposed_spread_takes_a_flag_back():
    points = draw(Plan(aircraft=8, offsets_kt=(5.0,)), np.random.default_rng(5))
    found = [
        judge_fleet(points, known=UsualSpread(kt=kt).known).adjusted[0] for kt in (0.5, 1.0, 3.0)
    ]
    assert found == sorted(found)
    assert found[0] < 0.05 < found[-1]


def test_bands_of_curves_suppose_nothing_of_the_spread():
    points = draw(Plan(aircraft=6), np.random.default_rng(7))
    assert fit_fleet(points).known is None


@pytest.mark.parametrize("spread_kt", [0.5, 1.0, 2.0, 4.0])
def test_the_spread_of_many_is_seen(spread_kt):
    plan = Plan(aircraft=400, groups=2, spread_kt=spread_kt)
    spread, free, groups = seen_spread(draw(plan, np.random.default_rng(11)))
    assert spread / KAPPA_PER_KT == pytest.approx(spread_kt, rel=0.12)  # 2 standard errors
    assert groups == 2
    assert free == pytest.approx(0.37 * 798)


def test_a_few_odd_aircraft_hardly_move_the_spread_that_is_seen():
    sound = draw(Plan(aircraft=40), np.random.default_rng(13))
    odd = draw(Plan(aircraft=40, offsets_kt=(9.0,) * 4), np.random.default_rng(13))
    assert seen_spread(odd)[0] < 1.35 * seen_spread(sound)[0]


def test_a_type_without_five_airframes_in_a_group_says_nothing():
    points = draw(Plan(aircraft=4, groups=3), np.random.default_rng(17))
    spread, free, groups = seen_spread(points)
    assert (np.isnan(spread), free, groups) == (True, 0.0, 0)
    assert learnt_spread([points]) == UsualSpread()


def test_other_types_move_the_default_by_as_much_as_they_say():
    wide = [draw(Plan(aircraft=n, spread_kt=3.0), np.random.default_rng(n)) for n in (6, 300)]
    few, many = (learnt_spread([points]) for points in wide)
    assert USUAL_KT < few.kt < many.kt < 3.0
    assert many.kt == pytest.approx(np.sqrt(3.0), rel=0.1)  # as much as the default, in the log
    assert (few.groups, many.groups) == (1, 1)
    both = learnt_spread(wide[1:] * 3)
    assert both.kt > many.kt


def test_the_words_name_where_the_spread_comes_from():
    default, given = UsualSpread(), UsualSpread(kt=1.5, given=True)
    assert "1.0 kt at 100 kt (standard deviation, the default)" in default.words(2, 9)
    assert "as much as 6 airframes beside the 9 of 2 groups" in default.words(2, 9)
    assert "1.5 kt at 100 kt (standard deviation, as given)" in given.words(1, 4)
    learnt = UsualSpread(kt=1.3, groups=4).words(1, 4)
    assert "from 4 groups of other types and the default of 1 kt" in learnt
