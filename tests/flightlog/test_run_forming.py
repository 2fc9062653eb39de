from __future__ import annotations

import math

import pytest

from fleetcal.flightlog import LegSummary, RunSettings, form_runs
from fleetcal.flightlog.runs import largest_track_gap

KT = 1852.0 / 3600.0


def leg(start_s, track_deg, kt=90.0, feet=4000.0, seconds=60.0):
    track = math.radians(track_deg)
    return LegSummary(
        t_start_s=start_s,
        t_stop_s=start_s + seconds,
        airspeed_mps=kt * KT,
        altitude_m=feet * 0.3048,
        temperature_k=280.0,
        ground_east_mps=kt * KT * math.sin(track),
        ground_north_mps=kt * KT * math.cos(track),
        track_rad=track % math.tau,
        samples=60,
    )


def legs_on(*tracks_deg, kt=90.0, start_s=0.0, every_s=100.0, **more):
    return [leg(start_s + i * every_s, track, kt, **more) for i, track in enumerate(tracks_deg)]


def accepted(plans):
    return [plan.legs for plan in plans if plan.refusal is None]


def test_boxes_at_different_speeds_are_different_runs():
    legs = legs_on(0, 90, 180, 270) + legs_on(0, 120, 240, kt=96.0, start_s=500.0)
    assert accepted(form_runs(legs)) == [(0, 1, 2, 3), (4, 5, 6)]


def test_a_box_flown_twice_at_one_speed_is_one_run():
    assert accepted(form_runs(legs_on(0, 90, 180, 270, 0, 90, 180, 270))) == [tuple(range(8))]


def test_a_leg_at_another_speed_in_between_does_not_end_a_run():
    legs = legs_on(0, 90, 180, 270)
    legs.insert(2, leg(165.0, 90, kt=110.0, seconds=30.0))
    plans = form_runs(legs)
    assert accepted(plans) == [(0, 1, 3, 4)]
    assert [plan.legs for plan in plans if plan.refusal] == [(2,)]


@pytest.mark.parametrize(
    "legs",
    [
        legs_on(0, 120) + legs_on(240, start_s=600.0),
        legs_on(0, 120) + legs_on(240, start_s=200.0, feet=4600.0),
        legs_on(0, 120) + legs_on(240, start_s=200.0, kt=95.0),
    ],
)
def test_a_pause_another_height_or_another_speed_ends_a_run(legs):
    plans = form_runs(legs)
    assert accepted(plans) == []
    assert plans[0].legs == (0, 1)
    assert "only 2 legs" in str(plans[0].refusal)


@pytest.mark.parametrize(
    ("tracks", "words"),
    [
        ((10,), "only 1 leg"),
        ((10, 100), "only 2 legs"),
        ((10, 12, 8), "one track (010 degrees)"),
        ((0, 40, 80), "280 degrees"),
        ((0, 180, 2, 181), "two opposite tracks (000 and 180 degrees)"),
    ],
)
def test_legs_that_cannot_be_solved_are_refused_with_the_figure(tracks, words):
    (plan,) = form_runs(legs_on(*tracks))
    assert plan.refusal is not None
    assert words in plan.refusal


def test_a_half_circle_of_tracks_is_enough():
    assert accepted(form_runs(legs_on(0, 90, 180))) == [(0, 1, 2)]


def test_a_long_row_of_boxes_is_divided_and_no_run_is_too_long():
    legs = legs_on(*(90 * (i % 4) for i in range(32)))
    plans = form_runs(legs)
    runs = accepted(plans)
    assert sorted(i for run in runs for i in run) == list(range(32))
    assert len(runs) == 3
    assert all(legs[run[-1]].t_stop_s - legs[run[0]].t_start_s <= 1500.0 for run in runs)


def test_of_a_long_straight_before_a_box_only_the_near_piece_is_used():
    straight = [leg(150.0 * i, 0, seconds=150.0) for i in range(5)]
    legs = straight + legs_on(90, 180, 270, start_s=800.0)
    plans = form_runs(legs)
    assert accepted(plans) == [(4, 5, 6, 7)]
    (rest,) = [plan for plan in plans if plan.refusal]
    assert rest.legs == (0, 1, 2, 3)
    assert "one track" in str(rest.refusal)


def test_the_first_track_flown_again_at_the_end_is_kept():
    assert accepted(form_runs(legs_on(0, 90, 180, 270, 0))) == [(0, 1, 2, 3, 4)]


def test_every_leg_is_in_exactly_one_plan():
    legs = (
        legs_on(0, 90, 180, 270)
        + legs_on(0, 10, start_s=450.0, kt=120.0)
        + legs_on(*range(0, 360, 30), start_s=700.0, every_s=170.0)
        + legs_on(5, start_s=9000.0)
    )
    plans = form_runs(legs)
    assert sorted(i for plan in plans for i in plan.legs) == list(range(len(legs)))


def test_settings_decide():
    legs = legs_on(0, 90, 180, kt=90.0)
    assert accepted(form_runs(legs, RunSettings(fewest_legs=4))) == []
    assert accepted(form_runs(legs, RunSettings(longest_s=200.0))) == []
    assert accepted(form_runs(legs, RunSettings(largest_track_gap_rad=math.radians(170)))) == []


def test_legs_without_times_are_joined_by_speed():
    legs = legs_on(0, 120, 240, start_s=math.nan) + legs_on(0, 120, 240, kt=110, start_s=math.nan)
    assert accepted(form_runs(legs)) == [(0, 1, 2), (3, 4, 5)]


def test_no_legs_make_no_runs():
    assert form_runs([]) == []


def test_the_largest_gap_is_measured_across_north():
    assert math.degrees(largest_track_gap([math.radians(d) for d in (350, 80, 170)])) == (
        pytest.approx(180.0)
    )
