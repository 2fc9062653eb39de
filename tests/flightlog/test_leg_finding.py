from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from fleetcal.flightlog import LegSettings, LegSpan, find_legs, form_runs, summarise_leg
from tests.flightlog.flight_maker import DEG, FT, KT, box, fly

WHOLE_FLIGHT = [
    ("taxi", 60.0, -85.0, 0.0, 40.0),
    ("take-off", 40.0, 85.0, 0.0, 0.0),
    ("climb", 120.0, 0.0, 1200.0, 100.0),
    *box((90.0, 70.0, 110.0, 130.0)),
    ("descent", 200.0, 0.0, -1500.0, 50.0),
]


def found_legs(flight, settings=None, roll=False, **steps):
    time_s, airspeed, altitude, track, speed = flight.logged(**steps)
    return find_legs(
        time_s,
        airspeed,
        altitude,
        track,
        speed,
        settings=settings,
        roll_rad=flight.roll if roll else None,
    )


def share_outside(flight, spans):
    """Share of the samples in found legs that were flown in a manoeuvre."""
    taken = np.concatenate([flight.segment[s.start : s.stop] for s in spans])
    return np.mean(~np.isin(taken, flight.legs))


@pytest.mark.parametrize("rate_hz", [0.2, 0.5, 1.0, 5.0, 20.0])
@pytest.mark.parametrize("roll", [False, True])
def test_each_flown_leg_is_found_once_at_any_rate_with_coarse_steps(rate_hz, roll):
    flight = fly(WHOLE_FLIGHT, rate_hz=rate_hz, seed=5)
    spans = found_legs(flight, roll=roll, speed_kt=1.0, altitude_ft=10.0, track_deg=1.0)
    homes = [int(np.median(flight.segment[s.start : s.stop])) for s in spans]
    # at a sample in 5 s, one of forty flights (seeds 1 to 40) has one of its 16 legs missed
    assert homes == flight.legs
    # a turn's first sample or two may pass before the turn shows: 1 in 50, 1 in 20 at 5 s
    assert share_outside(flight, spans) < (0.05 if rate_hz < 0.5 else 0.02)


def test_most_of_each_leg_is_used_but_not_the_time_to_settle():
    flight = fly(WHOLE_FLIGHT, seed=7)
    for span in found_legs(flight):
        number = int(np.median(flight.segment[span.start : span.stop]))
        begin = flight.t[np.argmax(flight.segment == number)]
        assert flight.t[span.start] - begin >= 5.0
        assert 50.0 <= flight.t[span.stop - 1] - flight.t[span.start] <= 70.0


@pytest.mark.parametrize(
    "manoeuvre",
    [
        ("turn", 300.0, 0.0, 0.0, 90.0),
        ("turn", 300.0, 0.0, 0.0, 900.0),
        ("turn", 300.0, 0.0, 0.0, 3600.0),
        ("climb", 300.0, 0.0, 1000.0, 0.0),
        ("climb", 300.0, 0.0, 2500.0, 0.0),
        ("descent", 300.0, 0.0, -2000.0, 0.0),
        ("speeding up", 250.0, 75.0, 0.0, 0.0),
        ("slowing down", 100.0, -40.0, 0.0, 0.0),
    ],
)
@pytest.mark.parametrize("seed", range(4))
def test_no_leg_is_found_in_a_turn_a_climb_or_a_speed_change(manoeuvre, seed):
    assert found_legs(fly([manoeuvre], seed=seed, rough=0.7), track_deg=1.0) == []


def test_no_leg_is_found_in_weaving_or_on_legs_that_are_too_short():
    weave = [("turn", 12.0, 0.0, 0.0, side) for side in (30.0, -30.0) * 8]
    assert found_legs(fly(weave, rough=0.7)) == []
    assert found_legs(fly(box(seconds=18.0) * 3, rough=0.7)) == []


def test_no_leg_is_found_on_the_ground():
    flight = fly([("slow", 1.0, -65.0, 0.0, 0.0), ("taxi", 300.0, 0.0, 0.0, 0.0)], rough=0.2)
    assert found_legs(flight) == []


def test_a_long_straight_is_cut_in_equal_pieces_back_to_back():
    flight = fly([("leg", 400.0, 0.0, 0.0, 0.0)], rough=0.3)
    spans = found_legs(flight)
    assert len(spans) == 3
    assert all(a.stop == b.start for a, b in pairwise(spans))
    lengths = [span.stop - span.start for span in spans]
    assert max(lengths) - min(lengths) <= 1
    assert max(lengths) <= 181


def test_a_track_through_north_does_not_break_a_leg():
    flight = fly([("leg", 120.0, 0.0, 0.0, 0.0)], wind_kt=(0.0, 0.0))
    assert flight.track.max() > 6.0 > 1.0 > flight.track.min()
    (span,) = found_legs(flight, track_deg=1.0)
    assert span.stop - span.start > 100


def test_scattered_missing_samples_do_not_break_a_leg_but_a_hole_does():
    flight = fly([("leg", 150.0, 0.0, 0.0, 0.0)], rough=0.5)
    t, airspeed, altitude, track, speed = flight.logged()
    airspeed[::7] = np.nan
    track[::11] = np.nan
    (span,) = find_legs(t, airspeed, altitude, track, speed)
    assert span.stop - span.start > 130
    speed[70:80] = np.nan
    pieces = find_legs(t, airspeed, altitude, track, speed)
    assert len(pieces) == 2
    assert pieces[0].stop <= 70
    assert pieces[1].start >= 80


def test_nothing_is_found_where_a_channel_is_empty_or_the_log_is_tiny():
    t = np.arange(100.0)
    empty = np.full(100, np.nan)
    level = np.full(100, 50.0)
    assert find_legs(t, level, level, empty, level) == []
    assert find_legs(t[:2], level[:2], level[:2], level[:2], level[:2]) == []
    assert find_legs(t[:0], t[:0], t[:0], t[:0], t[:0]) == []


def test_tighter_tolerances_find_no_more_than_wider_ones():
    flight = fly(WHOLE_FLIGHT, seed=9, rough=1.5)
    wide = found_legs(flight, LegSettings(altitude_scatter_m=40.0))
    tight = found_legs(flight, LegSettings(altitude_scatter_m=5.0, airspeed_scatter_mps=0.5))
    used = [sum(s.stop - s.start for s in spans) for spans in (tight, wide)]
    assert used[0] < used[1]


def test_every_leg_keeps_to_the_tolerances_that_were_asked_for():
    limits = LegSettings()
    flight = fly(WHOLE_FLIGHT, seed=3, rough=1.3)
    spans = found_legs(flight)
    assert spans
    for span in spans:
        part = slice(span.start, span.stop)
        t = flight.t[part]
        assert limits.shortest_s <= t[-1] - t[0] <= limits.longest_s
        for values, drift, scatter in (
            (flight.airspeed, limits.airspeed_drift_mps, limits.airspeed_scatter_mps),
            (flight.altitude, limits.altitude_drift_m, limits.altitude_scatter_m),
            (np.unwrap(flight.track), limits.track_drift_rad, limits.track_scatter_rad),
        ):
            slope, level = np.polyfit(t - t[0], values[part], 1)
            rest = values[part] - level - slope * (t - t[0])
            # steps of the log against the unrounded flight: one part in fifty
            assert abs(slope) * (t[-1] - t[0]) <= 1.02 * drift
            assert np.std(rest, ddof=2) <= 1.02 * scatter


def test_a_leg_is_summarised_by_the_mean_of_its_ground_vectors():
    t = np.arange(6.0)
    track = np.array([350.0, 10.0, 350.0, 10.0, 350.0, 10.0]) * DEG
    speed = np.full(6, 50.0)
    airspeed = np.array([50.0, 52.0, 50.0, 52.0, np.nan, np.nan])
    height = np.full(6, 1000.0)
    leg = summarise_leg(LegSpan(0, 6), t, airspeed, height, np.full(6, 280.0), track, speed)
    assert leg.samples == 4
    assert leg.airspeed_mps == pytest.approx(51.0)
    assert leg.ground_east_mps == pytest.approx(0.0, abs=1e-9)
    assert leg.ground_north_mps == pytest.approx(50.0 * np.cos(10.0 * DEG))
    assert leg.track_rad % (2 * np.pi) == pytest.approx(0.0, abs=1e-9)
    # by hand: four swings of 10 degrees about their mean, divided by n - 1
    assert leg.track_sd_rad == pytest.approx(10.0 * DEG * np.sqrt(4 / 3))
    assert leg.airspeed_sd_mps == pytest.approx(np.sqrt(4 / 3))
    assert (leg.t_start_s, leg.t_stop_s) == (0.0, 3.0)


def test_a_flight_of_four_boxes_makes_four_runs_of_four_legs():
    flight = fly(WHOLE_FLIGHT, seed=11)
    t, airspeed, altitude, track, speed = flight.logged()
    warm = np.full(t.size, 285.0)
    legs = [summarise_leg(s, t, airspeed, altitude, warm, track, speed) for s in found_legs(flight)]
    runs = form_runs(legs)
    assert [plan.legs for plan in runs if plan.refusal is None] == [
        (0, 1, 2, 3),
        (4, 5, 6, 7),
        (8, 9, 10, 11),
        (12, 13, 14, 15),
    ]
    means = [np.mean([legs[i].airspeed_mps for i in plan.legs]) / KT for plan in runs]
    np.testing.assert_allclose(means, [90.0, 70.0, 110.0, 130.0], atol=1.5)
    assert all(abs(leg.altitude_m / FT - 5200.0) < 40.0 for leg in legs)
