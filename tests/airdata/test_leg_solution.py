from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.ground_vectors import bearing_from
from fleetcal.units import MPS_PER_KT
from tests.airdata.run_maker import (
    alike,
    components,
    evenly,
    ground_vectors,
    made_run,
    true_airspeed_and_slope,
)
from tests.airdata.solved_legs import solve_legs, wind_of


def solved(speeds_kt, tracks_deg, readings=None):
    """TAS kt, wind kt and wind-from deg; kappa takes up whatever the readings are."""
    east, north = ground_vectors(speeds_kt, tracks_deg)
    solution = solve_legs(east, north, readings or alike(len(east)))
    assert solution.converged
    wind_east, wind_north = (float(component) for component in wind_of(solution))
    return (
        float(solution.looked.speed_mps.mean()) / MPS_PER_KT,
        np.hypot(wind_east, wind_north) / MPS_PER_KT,
        np.degrees(bearing_from(wind_east, wind_north)),
        solution,
    )


def flown(tas_kt, wind_kt, wind_from_deg, headings_deg):
    """Ground speeds kt and tracks deg: air vector plus wind."""
    east, north = components(tas_kt, np.radians(np.asarray(headings_deg, float)))
    wind_east, wind_north = components(-wind_kt, np.radians(wind_from_deg))
    east, north = east + wind_east, north + wind_north
    return np.hypot(east, north), np.degrees(np.arctan2(east, north))


# Exact: forward vectors, four decimals kept. (kt, deg) legs -> TAS 110, wind 18 from 230
THREE = ([124.3283, 114.5061, 93.2889], [15.3398, 121.0943, 253.7838])
FOUR = ([122.3497, 124.3283, 99.3910, 96.9044], [6.4710, 84.6602, 172.0255, 276.8574])


@pytest.mark.parametrize("legs", [THREE, FOUR])
@pytest.mark.parametrize("airspeed_kt", [90.0, 100.0, 125.0])
def test_exact_legs_give_wind_and_true_airspeed_whatever_the_indicator_reads(legs, airspeed_kt):
    readings = alike(len(legs[0]), airspeed_mps=airspeed_kt * MPS_PER_KT)
    tas, wind, wind_from, solution = solved(legs[0], legs[1], readings)
    assert tas == pytest.approx(110.0, abs=1e-3)
    assert wind == pytest.approx(18.0, abs=1e-3)
    assert wind_from == pytest.approx(230.0, abs=1e-3)
    np.testing.assert_allclose(solution.looked.over_mps / MPS_PER_KT, 0.0, atol=1e-4)
    # kappa is what makes these readings stand for that true airspeed
    expected = true_airspeed_and_slope(readings, solution.kappa[0])[0]
    np.testing.assert_allclose(expected / MPS_PER_KT, 110.0, atol=1e-3)


def test_rounded_legs_move_the_answer_as_a_geometric_circle_does():
    # Computed: geometric least-squares circle through the four legs after rounding.
    speeds, tracks = np.array(FOUR[0]), np.round(FOUR[1])
    tas, wind, wind_from, _ = solved(np.round(speeds, 1), tracks)
    assert (tas, wind, wind_from) == pytest.approx((110.0188, 18.0483, 230.0001), abs=1e-4)
    tas, wind, wind_from, solution = solved(np.round(speeds), tracks)
    assert (tas, wind) == pytest.approx((109.7951, 17.9278), abs=1e-4)
    assert wind_from == pytest.approx(229.476, abs=1e-3)
    residual = np.abs(solution.looked.over_mps) / MPS_PER_KT
    np.testing.assert_allclose(residual, 0.109, atol=1.5e-3)


def test_published_example_on_three_tracks():
    # Published: newsgroup rec.aviation, 11 September 2004; TAS 100 kt, wind 045/30, tracks
    # 000/120/240, ground speeds 76.5, 87.9, 128.7 kt.
    tas, wind, wind_from, _ = solved([76.5, 87.9, 128.7], [0, 120, 240])
    assert (tas, wind) == pytest.approx((100.0, 30.0), abs=0.05)
    assert wind_from == pytest.approx(45.0, abs=0.1)
    # Computed from these rounded ground speeds.
    assert (tas, wind) == pytest.approx((99.9932, 30.0228), abs=1e-4)
    assert wind_from == pytest.approx(45.054, abs=1e-3)


def test_the_published_three_tracks_without_their_rounding():
    # Computed: 76.510898, 87.944825, 128.675876 kt; headings 12.247324, 103.155349, 244.453254.
    speeds, tracks = np.array([76.510898, 87.944825, 128.675876]), np.array([0.0, 120.0, 240.0])
    tas, wind, wind_from, solution = solved(speeds, tracks)
    assert (tas, wind, wind_from) == pytest.approx((100.0, 30.0, 45.0), abs=2e-6)
    east, north = ground_vectors(speeds, tracks)
    wind_east, wind_north = wind_of(solution)
    heading = np.arctan2(east - wind_east, north - wind_north)
    expected = [12.247324, 103.155349, 244.453254]
    np.testing.assert_allclose(np.degrees(heading) % 360.0, expected, atol=2e-6)


def test_averaging_ground_speeds_is_biased_and_the_solution_is_not():
    # Published: K. Horton, "Finding TAS from GPS Data"; TAS 100 kt, wind 270/20, headings
    # N, E, S, W give 102, 120, 102, 80 kt, mean 101. Exact: 101.980390, mean 100.990195.
    speeds, tracks = flown(100.0, 20.0, 270.0, [0, 90, 180, 270])
    assert np.round(speeds).tolist() == [102.0, 120.0, 102.0, 80.0]
    np.testing.assert_allclose(speeds, [101.980390, 120.0, 101.980390, 80.0], atol=5e-7)
    assert speeds.mean() == pytest.approx(100.990195, abs=5e-7)
    assert np.sqrt(np.mean(speeds**2)) == pytest.approx(101.980390, abs=5e-7)
    tas, wind, wind_from, _ = solved(speeds, tracks)
    # the solve supposes a wind of 0 +- 10 km/s before it has seen any leg
    assert (tas, wind, wind_from) == pytest.approx((100.0, 20.0, 270.0), abs=1e-7)
    assert abs(speeds.mean() - tas) > 0.98


def test_three_legs_read_from_a_panel():
    # Common practice, no published source: 121 kt on 262, 146 kt on 172, 171 kt on 82
    # are taken for 146 kt TAS and 25 kt of wind from just right of 262.
    tas, wind, wind_from, _ = solved([121, 146, 171], [262, 172, 82])
    assert tas == pytest.approx(146.0, abs=0.5)
    assert wind == pytest.approx(25.0, abs=0.5)
    assert 266.0 <= wind_from <= 267.0


# Exact: ground speeds on headings N, E, S -> TAS, wind, wind from
NORTH_EAST_SOUTH = [
    ((113.247517, 133.201695, 128.160056), (120.0, 15.0, 300.0)),
    ((101.980390, 120.0, 101.980390), (100.0, 20.0, 270.0)),
    ((86.153460, 87.769267, 104.477659), (95.0, 12.0, 40.0)),
]


@pytest.mark.parametrize(("speeds", "truth"), NORTH_EAST_SOUTH)
def test_headings_north_east_south_agree_with_the_closed_form(speeds, truth):
    made, tracks = flown(truth[0], truth[1], truth[2], [0, 90, 180])
    np.testing.assert_allclose(made, speeds, atol=6e-7)
    tas, wind, wind_from, _ = solved(speeds, tracks)
    assert (tas, wind, wind_from) == pytest.approx(truth, abs=2e-5)
    # Exact: closed form free of singularities, from the ground speeds alone.
    g1, g2, g3 = np.square(speeds)
    s, a = (g1 + g3) / 2, (g1 - g3) / 4
    b = (g2 - s) / 2
    closed = np.sqrt((s + np.sqrt(s * s - 4 * (a * a + b * b))) / 2)
    assert tas == pytest.approx(closed, abs=2e-5)
    # Published: J. T. Lowry, rec.aviation, 30 June 2004 (after his Performance of Light
    # Aircraft, p. 31). His arctan takes (x, y); with the wind due east or west cos A is 0.
    angle = np.arctan2(2 * g2 - g1 - g3, g3 - g1)
    if abs(np.cos(angle)) > 1e-6:
        p, q = (g1 + g3) / 2, (g3 - g1) / (4 * np.cos(angle))
        lowry = np.sqrt((p + np.sqrt(p * p - 4 * q * q)) / 2)
        assert tas == pytest.approx(lowry, abs=2e-5)
        assert wind == pytest.approx(abs(q / lowry), abs=2e-5)
        assert wind_from == pytest.approx((360.0 - np.degrees(angle)) % 360.0, abs=1e-4)


# Exact: ground speeds on headings h, h+120, h+240 -> TAS, wind
THREE_HEADINGS = [
    ((123.491431, 131.843695, 106.028801), (120.0, 15.0)),
    ((101.980390, 117.745920, 83.282041), (100.0, 20.0)),
    ((84.820175, 95.754895, 105.562957), (95.0, 12.0)),
]


@pytest.mark.parametrize(("speeds", "truth"), THREE_HEADINGS)
def test_headings_120_degrees_apart_agree_with_the_published_formula(speeds, truth):
    # Published, seen second-hand: E. Williams, Aviation Formulary; ground speeds only.
    square = np.square(speeds)
    mean = square.mean()
    mu = np.sum((square / mean - 1.0) ** 2) / 6.0
    part = 0.5 + np.sqrt(0.25 - mu)
    formula = np.sqrt(mean * part), np.sqrt(mean * mu / part)
    assert formula == pytest.approx(truth, abs=2e-5)
    # The same legs with tracks: headings 0, 120, 240 and the wind that fits the ground speeds.
    tas, wind = truth
    heading = np.radians([0.0, 120.0, 240.0])
    along = (square - tas**2 - wind**2) / (2 * tas)
    towards = 2 * np.sum(along * np.sin(heading)) / 3, 2 * np.sum(along * np.cos(heading)) / 3
    east, north = tas * np.sin(heading) + towards[0], tas * np.cos(heading) + towards[1]
    np.testing.assert_allclose(np.hypot(east, north), speeds, atol=2e-5)
    found = solved(speeds, np.degrees(np.arctan2(east, north)))
    assert found[:2] == pytest.approx(truth, abs=5e-5)


@pytest.mark.parametrize(("count", "tas"), [(3, 0.57735), (4, 0.5), (6, 0.40825)])
def test_radial_noise_reaches_airspeed_as_geometry_says(count, tas):
    # Exact: sigma of TAS = s/sqrt(n); the wind hardly moves, so every leg weighs the same.
    made = made_run(evenly(count), alike(count), -0.03, 9.0, 4.0)
    found = solve_legs(made.east_mps, made.north_mps, made.readings)
    slope = true_airspeed_and_slope(made.readings, -0.03)[1][0]
    assert np.linalg.norm(found.gain[0]) * slope == pytest.approx(tas, abs=1e-5)
    scatter = found.scatter_mps[0]
    assert np.sqrt(found.covariance[0, 0]) * slope / scatter == pytest.approx(tas, abs=1e-3)
