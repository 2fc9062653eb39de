from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcal.flightlog.common_rows import at_common_rows
from fleetcal.flightlog.parts import forward_parts
from fleetcal.flightlog.positions import ground_vector


def test_a_clock_that_runs_is_one_part():
    parts, warnings = forward_parts(np.arange(100.0))
    assert [part.tolist() for part in parts] == [list(range(100))]
    assert warnings == ()


def test_a_clock_that_starts_anew_makes_a_second_part():
    parts, _ = forward_parts(np.concatenate([np.arange(200.0), np.arange(150.0)]))
    assert [(part[0], part[-1]) for part in parts] == [(0, 199), (200, 349)]


def test_a_few_rows_of_long_ago_or_far_ahead_are_left_out():
    clock = np.arange(500.0)
    clock[[100, 300]] = (3.0, 9e5)
    parts, warnings = forward_parts(clock)
    assert sum(part.size for part in parts) == 498
    assert len(parts) == 1
    assert any("2 rows" in warning for warning in warnings)


def test_many_missing_hours_make_a_second_part():
    parts, _ = forward_parts(np.concatenate([np.arange(100.0), 40000.0 + np.arange(50.0)]))
    assert [part.size for part in parts] == [100, 50]


@given(
    st.lists(
        st.one_of(st.floats(-1e9, 1e9), st.just(float("nan")), st.integers(0, 50).map(float)),
        max_size=300,
    )
)
def test_time_strictly_increases_in_every_part_whatever_the_clock_does(seconds):
    clock = np.array(seconds, dtype=float)
    parts, _ = forward_parts(clock)
    for part in parts:
        assert np.all(np.diff(clock[part]) > 0.0)
        assert np.all(np.diff(part) > 0)
    rows = np.concatenate(parts) if parts else np.zeros(0)
    assert len(set(rows.tolist())) == rows.size


def channels(count=200):
    t = np.arange(count) / 5.0
    return t, {
        "indicated_airspeed": 50.0 + np.sin(t),
        "pressure_altitude": 1000.0 + t,
        "temperature": 280.0 + 0.01 * t,
        "ground_speed": 55.0 + np.cos(t),
        "track": np.mod(6.2 + 0.01 * t, 2.0 * np.pi),
    }


def test_complete_rows_stay_as_they_are():
    t, full = channels()
    keep, same, warnings = at_common_rows(t, full)
    assert keep.all()
    assert warnings == ()
    assert all(same[name] is full[name] for name in full)


def test_channels_on_different_rows_meet_on_those_of_the_slowest():
    t, full = channels()
    sparse = {name: values.copy() for name, values in full.items()}
    sparse["ground_speed"][np.arange(t.size) % 5 != 2] = np.nan
    sparse["track"][np.arange(t.size) % 5 != 2] = np.nan
    sparse["indicated_airspeed"][np.arange(t.size) % 5 == 2] = np.nan
    sparse["temperature"][np.arange(t.size) % 50 != 0] = np.nan
    keep, brought, warnings = at_common_rows(t, sparse)
    assert keep.sum() == 40
    inner = slice(1, 30)
    for name in full:
        np.testing.assert_allclose(brought[name][inner], full[name][keep][inner], atol=0.03)
    assert "ground speed, every 1 s" in warnings[0]


def test_a_hole_is_not_filled():
    t, full = channels(600)
    full["ground_speed"][np.arange(t.size) % 5 != 0] = np.nan
    full["track"][np.arange(t.size) % 5 != 0] = np.nan
    full["indicated_airspeed"][np.arange(t.size) % 5 == 0] = np.nan
    full["indicated_airspeed"][200:300] = np.nan
    keep, brought, _ = at_common_rows(t, full)
    hole = (t[keep] > 41.0) & (t[keep] < 58.0)
    assert np.isnan(brought["indicated_airspeed"][hole]).all()


@pytest.mark.parametrize("latitude", [-60.0, 0.0, 47.0, 80.0])
def test_positions_give_speed_and_track_through_the_date_line(latitude):
    # one minute of latitude is 1842.9 m at the equator and 1855.3 m at 47 degrees (WGS-84)
    t = np.arange(60.0)
    radius = {0.0: 6378137.0}.get(latitude)
    east_mps = 60.0
    a, e2 = 6378137.0, 0.00669437999014
    w = 1.0 - e2 * np.sin(np.radians(latitude)) ** 2
    normal = radius or a / np.sqrt(w)
    longitude = 179.99 + np.degrees(east_mps * t / (normal * np.cos(np.radians(latitude))))
    wrapped = np.radians((longitude + 180.0) % 360.0 - 180.0)
    speed, track = ground_vector(t, np.full(60, np.radians(latitude)), wrapped)
    np.testing.assert_allclose(speed[3:-3], east_mps, rtol=1e-6)
    np.testing.assert_allclose(track[3:-3], np.pi / 2.0, atol=1e-6)
    north = np.radians(latitude) + 50.0 * t / (a * (1.0 - e2) / w**1.5)
    speed, track = ground_vector(t, north, np.zeros(60))
    np.testing.assert_allclose(speed[3:-3], 50.0, rtol=2e-5)
