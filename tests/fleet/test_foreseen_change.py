"""Chances of telling what a change did."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.errors import FitError
from fleetcal.fleet.contrast import contrast
from fleetcal.fleet.foreseen_change import (
    USUAL_CHANGE,
    covariance_after,
    foresee_change,
    settled_change,
)
from fleetcal.fleet.foreseen_standing import PlannedSortie, Question
from fleetcal.fleet.pooled import fit_sums
from fleetcal.fleet.sums import aircraft_sums
from fleetcal.fleet.usual_sortie import sortie_information
from tests.fleet.fleet_maker import fleet_points

LIFT = np.array([0.12, 0.2, 0.3, 0.45, 0.58])
QUESTION = Question(LIFT, np.full(5, 50.0), 2.0, 0.05)


def repeated_sorties(shift, after=1, seed=1, u=0.008):
    """Six airframes with three sorties each, then `after` sorties of the first, shifted."""
    rng = np.random.default_rng(seed)
    group = np.repeat([*range(6), 6], [*[3] * 6, after])
    level = rng.normal(0.03, 0.03, 7)
    level[6] = level[0] + shift
    sortie = np.repeat(np.arange(len(group)), len(LIFT))
    lift = np.tile(LIFT, len(group))
    kappa = level[group][sortie] + 0.06 * (lift - 0.25) + rng.normal(0.0, u, len(lift))
    points = fleet_points(lift, kappa, u, sortie, group_of=group)
    return fit_sums(aircraft_sums(points).with_order(1), points.groups, likely_alike=True)


def planned(lift=LIFT, u=0.008):
    information = sortie_information(lift[None], 1, u, 0.0)[0]
    return PlannedSortie(information, (float(lift.min()) - 0.25, float(lift.max()) - 0.25))


def foreseen(fit, after, sortie=None, numbers=(1, 6)):
    rng = np.random.default_rng(2)
    return foresee_change(fit, 0, after, sortie or planned(), QUESTION, numbers, 60, rng)


def test_a_change_that_shows_already_stays_found():
    assert foreseen(repeated_sorties(0.15), 6)[0] == pytest.approx([1.0, 1.0])


@pytest.mark.long
def test_no_change_is_shown_to_be_small_by_more_sorties():
    chances = foreseen(repeated_sorties(0.0, u=0.02), 6, planned(u=0.02), (1, 12))
    assert chances[-1, 0] > 0.8
    assert chances[-1, 0] > chances[0, 0] - 0.05
    assert chances[-1, 1] < 0.5


def test_before_the_change_large_and_small_ones_are_both_foreseen():
    chances = foreseen(repeated_sorties(0.0, after=0), None, planned(u=0.03))
    assert 0.3 < chances[0, 1] < 0.98
    assert np.all(chances[:, 0] >= chances[:, 1])
    assert chances[1, 0] > 0.9


def test_sorties_flown_as_drawn_are_judged_as_the_change_check_judges_them():
    fit = repeated_sorties(0.03, after=2)
    found = contrast(fit, 0, 6)
    told = settled_change(QUESTION, found.weight, found.difference, found.covariance)
    band = found.band(LIFT)
    within = np.all(np.maximum(np.abs(band.low), np.abs(band.high)) * 50.0 <= 2.0)
    assert told == (float(found.p_value < 0.05 or within), float(found.p_value < 0.05))


def test_what_is_not_known_after_a_change_shrinks_with_what_was_flown_after_it():
    before = covariance_after(repeated_sorties(0.0, after=0), 0, None)
    after = covariance_after(repeated_sorties(0.0, after=2), 0, 6)
    assert np.sqrt(before[0, 0]) > 5.0 * USUAL_CHANGE[0]
    assert np.all(np.diag(after) < 0.1 * np.diag(before))


def test_one_speed_does_not_determine_a_curve_after_the_change():
    with pytest.raises(FitError, match="needs 2 speeds"):
        foreseen(repeated_sorties(0.0, after=0), None, planned(np.full(3, 0.3)))
