from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.ground_vectors import largest_track_gap
from fleetcal.airdata.run_quality import LARGEST_DILUTION, RunFigures, airspeed_dilution, refusal
from fleetcal.records import LARGEST_KAPPA, LEAST_KAPPA
from tests.airdata.run_maker import alike, evenly, figures_of, made_run, true_airspeed_and_slope
from tests.airdata.solved_legs import solve_legs

GOOD = RunFigures(
    legs=4,
    largest_gap_rad=np.radians(95.0),
    dilution=0.51,
    kappa=0.03,
    wind_mps=9.0,
    true_airspeed_mps=50.0,
    converged=True,
)


def judged(heading_rad, wind_mps=8.0, wind_from_rad=1.0, kappa=0.05, **readings):
    """The refusal of a run that is flown without noise."""
    made = made_run(
        heading_rad, alike(len(heading_rad), **readings), kappa, wind_mps, wind_from_rad
    )
    solution = solve_legs(made.east_mps, made.north_mps, made.readings)
    gap = largest_track_gap(np.arctan2(made.east_mps, made.north_mps))
    return refusal(figures_of(solution, gap))


@pytest.mark.parametrize("count", [3, 4, 5, 6, 8])
def test_a_run_spread_round_the_compass_counts(count):
    assert judged(evenly(count)) == ""


def test_the_limits_themselves_are_allowed():
    edge = replace(GOOD, largest_gap_rad=np.radians(200.0), dilution=LARGEST_DILUTION)
    assert refusal(edge) == ""
    assert refusal(replace(GOOD, kappa=LARGEST_KAPPA)) == ""
    assert refusal(replace(GOOD, kappa=LEAST_KAPPA)) == ""


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"legs": 2}, ["only 2 legs", "three tracks"]),
        ({"largest_gap_rad": np.radians(212.0)}, ["narrow fan", "212 deg", "at most 200"]),
        ({"converged": False}, ["do not determine"]),
        ({"dilution": np.nan}, ["do not determine"]),
        ({"dilution": np.inf}, ["do not determine"]),
        ({"dilution": 2.34}, ["poorly", "2.3 times", "at most 1.5"]),
        ({"wind_mps": 50.0}, ["wind is stronger than the airspeed"]),
        ({"wind_mps": 61.0}, ["wind is stronger than the airspeed"]),
        ({"kappa": 1.56}, ["factor of 1.60", "wrong unit or wrong column"]),
        ({"kappa": -0.64}, ["factor of 0.60"]),
    ],
)
def test_a_figure_beyond_its_limit_is_the_reason(change, words):
    reason = refusal(replace(GOOD, **change))
    assert all(word in reason for word in words)
    assert "\n" not in reason


def test_fewer_than_three_legs_are_refused():
    assert "only 2 legs" in judged(np.array([0.0, 2.0]))
    assert "only 1 legs" in judged(np.array([0.0]))


def test_two_opposite_tracks_are_refused_even_when_flown_twice():
    reason = judged(np.array([0.0, np.pi, 0.0, np.pi]), wind_mps=0.0)
    assert "do not determine" in reason
    # a crosswind bends the tracks apart from the headings, and yet nothing new is learnt
    assert judged(np.array([0.0, np.pi, 0.0, np.pi]), wind_from_rad=np.pi / 2) != ""


def test_a_narrow_fan_is_refused_with_its_figure():
    reason = judged(np.radians([10.0, 40.0, 80.0]), wind_mps=0.0)
    assert "290 deg without a track" in reason


def test_a_wind_above_the_airspeed_is_refused():
    # 1.002 times the airspeed: the tracks still fill all but 187 deg, so the gap does not tell.
    speed = true_airspeed_and_slope(alike(1), 0.05)[0][0]
    headings = np.radians([176.4, 183.6, 0.0, 90.0, 270.0])
    reason = judged(headings, wind_mps=1.002 * speed, wind_from_rad=np.radians(180.0))
    assert reason == "the solved wind is stronger than the airspeed"
    assert judged(headings, wind_mps=1.5 * speed, wind_from_rad=np.radians(180.0)) != ""


@pytest.mark.parametrize(("wrong", "factor"), [(1.852, "0.55"), (1 / 1.852, "1.85")])
def test_a_wrong_unit_of_airspeed_is_refused_by_its_factor(wrong, factor):
    # km/h read as knots, and the other way round: the ground speeds tell the true airspeed
    made = made_run(evenly(4), alike(4), 0.0, 6.0, 1.0)
    readings = replace(made.readings, airspeed_mps=made.readings.airspeed_mps * wrong)
    solution = solve_legs(made.east_mps, made.north_mps, readings)
    gap = largest_track_gap(np.arctan2(made.east_mps, made.north_mps))
    reason = refusal(figures_of(solution, gap))
    assert f"factor of {factor}" in reason
    assert "wrong unit" in reason


def dilution_of(made, parts=None):
    found = solve_legs(made.east_mps, made.north_mps, made.readings).looked
    return airspeed_dilution(found.direction, found.slope_mps, parts or len(made.east_mps))


@pytest.mark.parametrize("count", [3, 4, 6])
def test_evenly_spread_tracks_dilute_by_the_root_of_their_number(count):
    # Exact: sigma of TAS = s/sqrt(n) for n evenly spaced headings with radial noise s:
    # 0.57735, 0.5, 0.40825.
    made = made_run(evenly(count), alike(count), 0.02, 7.0, 2.0)
    assert dilution_of(made) == pytest.approx(1.0 / np.sqrt(count), rel=1e-6)


def test_legs_cut_into_pieces_dilute_as_legs():
    # twelve pieces of three legs: what counts is the error of one leg
    heading = np.repeat(evenly(3), 4)
    made = made_run(heading, alike(12), 0.02, 7.0, 2.0)
    assert dilution_of(made, parts=3) == pytest.approx(1.0 / np.sqrt(3.0), rel=1e-6)


def test_a_narrower_fan_dilutes_more():
    found = []
    for half_deg in (120.0, 90.0, 60.0, 40.0):
        made = made_run(np.radians([-half_deg, 0.0, half_deg]), alike(3), 0.02, 0.0, 0.0)
        found.append(dilution_of(made))
    assert np.all(np.diff(found) > 0.0)
    # Hand derivation: headings 0 and +-h give V the error sqrt(1/2 + c^2) / (1 - c), c = cos h.
    c = np.cos(np.radians([120.0, 90.0, 60.0, 40.0]))
    np.testing.assert_allclose(found, np.sqrt(0.5 + c * c) / (1.0 - c), rtol=1e-6)


def test_tracks_that_do_not_determine_the_airspeed_dilute_without_end():
    to_and_fro = np.column_stack([np.zeros(4), [1.0, -1.0, 1.0, -1.0]])
    assert airspeed_dilution(to_and_fro, np.full(4, 25.0), 4) == np.inf
    assert airspeed_dilution(np.full((4, 2), np.nan), np.full(4, 25.0), 4) == np.inf
