"""Strips of a flight against time: small whatever the length, and true to its peaks."""

from __future__ import annotations

import re

import numpy as np
import pytest

from fleetcal.publish.flight_picture import FlightHistory, Floats
from fleetcal.publish.site.strips import HEIGHT, WIDTH, Strip, clock, flight_strips


def history(seconds: float, rate_hz: float = 1.0) -> FlightHistory:
    time = np.arange(0.0, seconds, 1.0 / rate_hz)
    rng = np.random.default_rng(4)
    return FlightHistory(
        time_s=time,
        airspeed_kt=80.0 + rng.normal(0.0, 2.0, time.size),
        altitude_ft=3000.0 + 500.0 * np.sin(time / 300.0),
        track_deg=(time / 2.0) % 360.0,
        ground_speed_kt=90.0 + rng.normal(0.0, 1.0, time.size),
    )


def changed(flight: FlightHistory, **values: Floats) -> FlightHistory:
    return FlightHistory(**{**vars(flight), **values})


def places(strip: Strip) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"[ML]([-\d.]+) ([-\d.]+)", strip.path)]


@pytest.mark.parametrize(("seconds", "rate_hz"), [(3600.0, 1.0), (18000.0, 10.0)])
def test_an_hour_and_five_hours_at_ten_a_second_stay_small(seconds: float, rate_hz: float) -> None:
    shown = flight_strips(history(seconds, rate_hz))
    assert [strip.name for strip in shown.strips] == [
        "airspeed",
        "pressure altitude",
        "track",
        "ground speed",
    ]
    assert sum(len(strip.path) for strip in shown.strips) < 100_000
    for strip in shown.strips:
        assert all(0.0 <= x <= WIDTH and 0.0 <= y <= HEIGHT for x, y in places(strip))


def test_one_sample_that_sticks_out_of_five_hours_is_drawn() -> None:
    flight = history(18000.0, 10.0)
    airspeed = flight.airspeed_kt.copy()
    airspeed[91234] = 140.0
    airspeed[150001] = 20.0
    strip = flight_strips(changed(flight, airspeed_kt=airspeed)).strips[0]
    highest = min(places(strip), key=lambda place: place[1])
    lowest = max(places(strip), key=lambda place: place[1])
    assert highest[0] == pytest.approx(91234 / 180000 * WIDTH, abs=0.1)
    assert lowest[0] == pytest.approx(150001 / 180000 * WIDTH, abs=0.1)


def test_a_pause_a_gap_and_north_break_the_line() -> None:
    flight = history(1800.0)
    time = flight.time_s + np.where(flight.time_s >= 900.0, 600.0, 0.0)
    paused = flight_strips(changed(flight, time_s=time)).strips
    assert [strip.path.count("M") for strip in paused] == [2, 2, 4, 2]
    holed = flight.altitude_ft.copy()
    holed[400:450] = np.nan
    assert flight_strips(changed(flight, altitude_ft=holed)).strips[1].path.count("M") == 2
    nothing = np.full(flight.time_s.size, np.nan)
    empty = flight_strips(changed(flight, altitude_ft=nothing)).strips[1]
    assert (empty.path, empty.marks) == ("", ())


def test_looking_closer_shows_every_sample_of_what_is_left() -> None:
    flight = history(3600.0)
    shown = flight_strips(flight, "airspeed", 600.0, 900.0)
    assert (shown.start_s, shown.stop_s, shown.last_s) == (600.0, 900.0, 3599.0)
    assert len(places(shown.strips[0])) == 301
    assert [words for _, words in shown.times] == [
        "10:00",
        "11:00",
        "12:00",
        "13:00",
        "14:00",
        "15:00",
    ]
    assert [place for place, _ in shown.times] == pytest.approx(
        [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]
    )


@pytest.mark.parametrize(
    ("start", "stop"), [(-5.0, 1e9), (3599.0, 3599.0), (900.0, 100.0), (1e9, 2e9)]
)
def test_whatever_is_to_be_shown_at_least_ten_seconds_are(start: float, stop: float) -> None:
    shown = flight_strips(history(3600.0), "airspeed", start, stop)
    assert shown.stop_s - shown.start_s >= 10.0 - 1e-9
    assert places(shown.strips[0])


def test_values_marked_lie_where_they_are_drawn() -> None:
    flight = history(3600.0)
    ramp = np.linspace(0.0, 100.0, flight.time_s.size)
    strip = flight_strips(changed(flight, airspeed_kt=ramp)).strips[0]
    middle = {words: share for share, words in strip.marks}["50"]
    at_half = [y for x, y in places(strip) if abs(x - WIDTH / 2.0) < 1.0]
    assert at_half[0] / HEIGHT == pytest.approx(middle, abs=0.01)


def test_times_are_minutes_and_hours_where_there_are_any() -> None:
    assert [clock(s) for s in (0.0, 59.6, 750.0, 3600.0, 7265.0)] == [
        "0:00",
        "1:00",
        "12:30",
        "1:00:00",
        "2:01:05",
    ]
