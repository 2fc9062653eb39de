from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.ground_vectors import bearing_from, largest_track_gap
from fleetcal.units import MPS_PER_KT
from tests.airdata.run_maker import components, evenly, ground_vectors
from tests.airdata.wind_circle import wind_circle


def circle_of(east, north, weight=None):
    east, north = np.atleast_2d(east), np.atleast_2d(north)
    return wind_circle(east, north, np.ones_like(east) if weight is None else np.atleast_2d(weight))


# Exact: made by adding a wind to air vectors, four decimals kept.
# (ground speeds kt, tracks deg, TAS kt, wind kt, wind from deg)
EXACT = [
    ([124.3283, 114.5061, 93.2889], [15.3398, 121.0943, 253.7838], 110.0, 18.0, 230.0),
    (
        [122.3497, 124.3283, 99.3910, 96.9044],
        [6.4710, 84.6602, 172.0255, 276.8574],
        110.0,
        18.0,
        230.0,
    ),
]


@pytest.mark.parametrize(("speeds", "tracks", "tas", "wind", "wind_from"), EXACT)
def test_the_tips_of_ground_vectors_lie_on_the_wind_circle(speeds, tracks, tas, wind, wind_from):
    circle = circle_of(*ground_vectors(speeds, tracks))
    assert circle.radius_mps[0] / MPS_PER_KT == pytest.approx(tas, abs=1e-3)
    speed = np.hypot(circle.east_mps[0], circle.north_mps[0]) / MPS_PER_KT
    assert speed == pytest.approx(wind, abs=1e-3)
    bearing = np.degrees(bearing_from(float(circle.east_mps[0]), float(circle.north_mps[0])))
    assert bearing == pytest.approx(wind_from, abs=1e-2)


@pytest.mark.parametrize("count", [3, 4, 5, 8])
def test_vectors_of_one_true_airspeed_give_the_circle_exactly(count):
    generator = np.random.default_rng(count)
    heading = evenly(count, generator.uniform(0, 6)) + generator.uniform(-0.3, 0.3, (50, count))
    wind = generator.normal(0.0, 12.0, (2, 50, 1))
    radius = generator.uniform(30.0, 90.0, (50, 1))
    east, north = components(radius, heading)
    circle = circle_of(east + wind[0], north + wind[1])
    np.testing.assert_allclose(circle.east_mps, wind[0][:, 0], atol=1e-10)
    np.testing.assert_allclose(circle.north_mps, wind[1][:, 0], atol=1e-10)
    np.testing.assert_allclose(circle.radius_mps, radius[:, 0], rtol=1e-12)


def test_the_circle_minimises_the_algebraic_distance():
    generator = np.random.default_rng(5)
    east, north = components(50.0, evenly(6))
    east, north = east + generator.normal(4.0, 2.0, 6), north + generator.normal(-7.0, 2.0, 6)
    circle = circle_of(east, north)
    # the same linear least squares by a general solver
    design = np.stack([2 * east, 2 * north, np.ones(6)], axis=1)
    x, y, c = np.linalg.lstsq(design, east**2 + north**2, rcond=None)[0]
    assert circle.east_mps[0] == pytest.approx(x, abs=1e-10)
    assert circle.north_mps[0] == pytest.approx(y, abs=1e-10)
    assert circle.radius_mps[0] == pytest.approx(np.sqrt(c + x * x + y * y), rel=1e-12)


@pytest.mark.parametrize("junk", [0.0, 1e3, np.nan])
def test_padding_does_not_move_the_circle(junk):
    east, north = ground_vectors(*EXACT[0][:2])
    alone = circle_of(east, north)
    padded = circle_of(
        np.append(east, [junk] * 2), np.append(north, [junk] * 2), np.array([1.0, 1, 1, 0, 0])
    )
    assert padded.east_mps[0] == pytest.approx(alone.east_mps[0], rel=1e-13)
    assert padded.north_mps[0] == pytest.approx(alone.north_mps[0], rel=1e-13)
    assert padded.radius_mps[0] == pytest.approx(alone.radius_mps[0], rel=1e-13)


@pytest.mark.parametrize(
    ("east", "north"),
    [
        ([10.0, 20.0, 30.0], [5.0, 10.0, 15.0]),
        ([50.0, -40.0], [0.0, 3.0]),
        ([50.0, 50.0, 50.0], [1.0, 1.0, 1.0]),
        ([50.0], [1.0]),
    ],
)
def test_vectors_on_a_line_make_no_circle(east, north):
    circle = circle_of(east, north)
    assert np.isnan([circle.east_mps, circle.north_mps, circle.radius_mps]).all()


def test_a_line_in_one_run_leaves_the_others_alone():
    east, north = ground_vectors(*EXACT[0][:2])
    both = circle_of(np.stack([east, [1.0, 2.0, 3.0]]), np.stack([north, [1.0, 2.0, 3.0]]))
    assert np.isfinite(both.radius_mps).tolist() == [True, False]
    assert both.radius_mps[0] == circle_of(east, north).radius_mps[0]


@pytest.mark.parametrize(
    ("tracks_deg", "gap_deg"),
    [
        ([0.0, 120.0, 240.0], 120.0),
        ([90.0, 0.0, 270.0, 180.0], 90.0),
        ([10.0, 30.0, 60.0], 310.0),
        ([350.0, 10.0, 180.0], 170.0),
        ([0.0, 180.0], 180.0),
        ([45.0], 360.0),
        ([45.0, 45.0], 360.0),
        ([-10.0, 350.0, 710.0, 80.0], 270.0),
    ],
)
def test_the_largest_gap_between_tracks(tracks_deg, gap_deg):
    assert np.degrees(largest_track_gap(np.radians(tracks_deg))) == pytest.approx(gap_deg)


def test_the_largest_gap_does_not_depend_on_order_or_on_north():
    generator = np.random.default_rng(2)
    for _ in range(200):
        track = generator.uniform(-np.pi, np.pi, generator.integers(1, 9))
        gap = largest_track_gap(track)
        turned = generator.permutation(track) + generator.uniform(-10.0, 10.0)
        assert largest_track_gap(turned) == pytest.approx(gap, abs=1e-12)
        assert gap >= 2.0 * np.pi / len(track) - 1e-12


@pytest.mark.parametrize(
    ("east", "north", "bearing_deg"),
    [
        (0.0, -10.0, 0.0),
        (-10.0, 0.0, 90.0),
        (0.0, 10.0, 180.0),
        (10.0, 0.0, 270.0),
        (10.0, 10.0, 225.0),
        (10.0, -10.0, 315.0),
    ],
)
def test_a_wind_is_named_by_where_it_comes_from(east, north, bearing_deg):
    assert np.degrees(bearing_from(east, north)) == pytest.approx(bearing_deg, abs=1e-12)


def test_a_bearing_stays_below_a_full_turn():
    for east in (1e-17, 1e-300, -1e-17, -0.0, 0.0):
        assert 0.0 <= bearing_from(east, -10.0) < 2.0 * np.pi
