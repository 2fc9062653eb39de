"""Turns and boxes found as whole manoeuvres."""

import numpy as np

from fleetcal.flightlog import find_manoeuvres


def _flight(*parts):
    """Airspeed, altitude, track by (seconds, airspeed, degrees a second, climb a second)."""
    airspeed, altitude, track = [], [], []
    height, course = 900.0, 0.0
    for seconds, speed, rate, climb in parts:
        for _ in range(seconds):
            airspeed.append(speed)
            height += climb
            course += np.radians(rate)
            altitude.append(height)
            track.append(course)
    size = len(airspeed)
    return np.arange(float(size)), *(np.array(v) for v in (airspeed, altitude, track))


def test_a_full_circle_is_found_and_a_straight_is_not():
    found = find_manoeuvres(*_flight((200, 50.0, 0.0, 0.0)))
    assert found == []
    (circle,) = find_manoeuvres(*_flight((150, 50.0, 3.0, 0.0)))
    assert circle.stop - circle.start == 150


def test_a_change_of_speed_ends_one_manoeuvre_and_begins_another():
    flight = _flight((150, 45.0, 3.0, 0.0), (60, 52.0, 0.0, 0.0), (150, 60.0, 3.0, 0.0))
    spans = find_manoeuvres(*flight)
    assert len(spans) == 2
    assert spans[0].stop <= 160
    assert spans[1].start >= 195
    for span in spans:
        assert np.ptp(flight[1][span.start : span.stop]) < 8.5


def test_half_a_circle_a_climb_and_taxying_round_are_none():
    assert find_manoeuvres(*_flight((60, 50.0, 3.0, 0.0))) == []
    assert find_manoeuvres(*_flight((300, 5.0, 3.0, 0.0))) == []
    climbing = find_manoeuvres(*_flight((120, 50.0, 3.0, 4.0)))
    assert all(s.stop - s.start < 45 for s in climbing)


def test_missing_samples_and_holes_do_not_join_two_circles():
    t, airspeed, altitude, track = _flight((150, 50.0, 3.0, 0.0), (150, 50.0, 3.0, 0.0))
    t = np.where(t >= 150.0, t + 120.0, t)
    airspeed[40:42] = np.nan
    spans = find_manoeuvres(t, airspeed, altitude, track)
    assert [(s.start, s.stop) for s in spans] == [(0, 150), (150, 300)]
