"""Flights cut into pieces, and how these look at a wind."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.flight_pieces import PIECE_S, Stretch, cut
from fleetcal.airdata.looked_pieces import GUST_MEMORY_S, READ_ONCE, look, supposed_scatter
from seed_demo.gusts import remembering
from tests.airdata.run_maker import alike, true_airspeed_and_slope

KAPPA, WIND = 0.05, np.array([5.0, -3.0])


def stretch(group=0, begin=0.0, seconds=60, heading=0.4, airspeed_mps=50.0, every=1.0):
    """A straight stretch without noise, in a wind."""
    time = begin + every * np.arange(float(seconds / every))
    readings = alike(len(time), airspeed_mps)
    speed = true_airspeed_and_slope(readings, KAPPA)[0]
    return Stretch(
        group=group,
        time_s=time,
        east_mps=speed * np.sin(heading) + WIND[0],
        north_mps=speed * np.cos(heading) + WIND[1],
        readings=readings,
    )


def looked_at(pieces, kappa=(KAPPA,)):
    return look(pieces, np.tile(WIND, (len(pieces.time_s), 1)), np.array(kappa))


def test_pieces_stand_in_order_of_time_and_know_their_stretch_and_group():
    late, early = stretch(1, 500.0, airspeed_mps=40.0), stretch(0, 0.0)
    pieces = cut([late, early])
    assert np.all(np.diff(pieces.time_s) > 0.0)
    assert pieces.stretch.tolist() == [1, 1, 0, 0]
    assert pieces.group.tolist() == [0, 0, 1, 1]
    np.testing.assert_allclose(pieces.mean(pieces.readings.airspeed_mps), [50.0, 50.0, 40.0, 40.0])
    assert pieces.groups == 2


@pytest.mark.parametrize(
    ("seconds", "count"), [(10, 1), (31, 1), (40, 1), (47, 2), (60, 2), (240, 8), (615, 20)]
)
@pytest.mark.parametrize("every", [0.2, 1.0, 5.0])
def test_a_stretch_is_cut_into_pieces_of_about_half_a_minute(seconds, count, every):
    pieces = cut([stretch(seconds=seconds + every, every=every)])
    assert len(pieces.time_s) == count
    assert pieces.samples.sum() == len(pieces.east_mps)
    assert np.all(pieces.lasting_s <= 1.5 * PIECE_S)
    assert np.ptp(pieces.samples) <= 1 + (every == 5.0)


def test_every_sample_is_in_one_piece_and_means_are_of_it():
    time = np.arange(100.0)
    long = replace(stretch(seconds=100), east_mps=time)
    pieces = cut([long])
    np.testing.assert_array_equal(pieces.east_mps, time)
    expected = [part.mean() for part in np.split(time, pieces.first[1:])]
    np.testing.assert_allclose(pieces.mean(pieces.east_mps), expected)
    np.testing.assert_allclose(pieces.time_s, expected)
    np.testing.assert_array_equal(pieces.each(np.arange(3.0)), np.repeat([0, 1, 2], pieces.samples))


def test_a_reading_taken_once_is_a_piece_without_duration():
    pieces = cut([stretch(begin=90.0 * place, seconds=1) for place in range(4)])
    assert pieces.samples.tolist() == [1, 1, 1, 1]
    assert pieces.lasting_s.tolist() == [0.0] * 4
    assert np.isnan(looked_at(pieces).scatter_mps)


def test_without_noise_nothing_is_left_over_at_the_truth():
    pieces = cut([stretch(heading=h, begin=100.0 * h) for h in (0.0, 1.0, 2.5, 4.0)])
    looked = looked_at(pieces)
    np.testing.assert_allclose(looked.over_mps, 0.0, atol=1e-9)
    headings = pieces.mean(np.arctan2(pieces.east_mps - WIND[0], pieces.north_mps - WIND[1]))
    np.testing.assert_allclose(looked.direction[:, 0], np.sin(headings), atol=1e-12)
    slope = true_airspeed_and_slope(alike(1, 50.0), KAPPA)[1][0]
    np.testing.assert_allclose(looked.slope_mps, slope, rtol=1e-6)


def test_pieces_are_linear_about_a_wind_and_kappas():
    pieces = cut([stretch(heading=h, begin=100.0 * h) for h in (0.0, 1.0, 2.5, 4.0)])
    wind, kappa = np.tile(WIND, (len(pieces.time_s), 1)), np.array([KAPPA])
    linear = looked_at(pieces).linear(pieces, wind, kappa, np.ones(len(pieces.time_s)))
    by = np.array([0.02, -0.03]), 0.002
    there = look(pieces, wind + by[0], kappa + by[1])
    # the value is what wind and kappa must make up: moved, less of it is left over
    expected = linear.value - linear.direction @ (WIND + by[0]) - linear.slope @ (kappa + by[1])
    np.testing.assert_allclose(there.over_mps, expected, atol=1e-4)
    assert np.abs(there.over_mps).max() > 0.01


def test_no_gust_enters_the_slope_by_kappa():
    # a piece flown in a gust that the pitot feels has the slope of the airspeed that was meant
    calm = [stretch(begin=100.0 * i, heading=1.5 * i, seconds=30) for i in range(4)]
    gusty = list(calm)
    faster = replace(calm[1].readings, airspeed_mps=calm[1].readings.airspeed_mps + 4.0)
    gusty[1] = replace(calm[1], readings=faster)
    slope = looked_at(cut(gusty)).slope_mps
    np.testing.assert_allclose(slope, slope[0], rtol=1e-12)
    meant = true_airspeed_and_slope(alike(1, 51.0), KAPPA)[1][0]
    np.testing.assert_allclose(slope, meant, rtol=1e-6)


def test_a_heading_that_swings_leaves_nothing_over():
    swung = stretch(seconds=60)
    heading = 0.4 + np.radians(4.0) * np.sin(swung.time_s)
    speed = true_airspeed_and_slope(swung.readings, KAPPA)[0]
    swung = replace(
        swung,
        east_mps=speed * np.sin(heading) + WIND[0],
        north_mps=speed * np.cos(heading) + WIND[1],
    )
    looked = looked_at(cut([swung]))
    np.testing.assert_allclose(looked.over_mps, 0.0, atol=1e-9)
    mean_vector = np.hypot(np.mean(speed * np.sin(heading)), np.mean(speed * np.cos(heading)))
    assert speed.mean() - mean_vector > 0.05  # by the mean of the vectors it would be


def test_a_sample_that_jumps_is_not_counted():
    # 60 samples, of which one reads 20 m/s too much: counted it would move a piece by 0.67 m/s
    rng = np.random.default_rng(1)
    one = stretch(seconds=60)
    noisy = one.readings.airspeed_mps + rng.normal(0.0, 0.3, 60)
    jumped = noisy + 20.0 * (np.arange(60) == 40)
    over = [
        looked_at(cut([replace(one, readings=replace(one.readings, airspeed_mps=v))])).over_mps
        for v in (noisy, jumped)
    ]
    np.testing.assert_allclose(over[1], over[0], atol=0.05)


@pytest.mark.long
@pytest.mark.parametrize(("seconds", "memory_s"), [(30, 7.0), (15, 7.0)])
def test_supposed_scatter_is_what_means_of_gusts_scatter_by(seconds, memory_s):
    # 400 flights of eight pieces: Monte Carlo error of the scatter 1.5 %, of the supposed less
    assert memory_s == GUST_MEMORY_S
    rng = np.random.default_rng(2)
    found, supposed = [], []
    for _ in range(400):
        parts = []
        for place in range(8):
            one = stretch(begin=100.0 * place, seconds=seconds + 1)
            gust = remembering(rng, (1, seconds + 1), 0.8, memory_s, 1.0)[0]
            speed = one.readings.airspeed_mps + gust
            parts.append(replace(one, readings=replace(one.readings, airspeed_mps=speed)))
        pieces = cut(parts)
        looked = looked_at(pieces)
        found.append(looked.over_mps)
        supposed.append(supposed_scatter(pieces, looked, 0.0) ** 2)
    ratio = np.sqrt(np.mean(supposed) / np.mean(np.square(found)))
    assert ratio == pytest.approx(1.0, abs=0.08)


def test_a_reading_taken_once_is_supposed_to_scatter_by_a_share_of_its_airspeed():
    pieces = cut([stretch(begin=90.0 * place, seconds=1) for place in range(4)])
    looked = looked_at(pieces)
    expected = np.hypot(READ_ONCE * looked.speed_mps, 0.07)
    np.testing.assert_allclose(supposed_scatter(pieces, looked, 0.07), expected)


def test_errors_of_the_ground_speed_are_left_where_the_air_is_smooth():
    pieces = cut([stretch()])
    np.testing.assert_allclose(supposed_scatter(pieces, looked_at(pieces), 0.07), 0.07, rtol=1e-6)
