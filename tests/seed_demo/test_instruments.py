"""The instruments of an invented airframe err alike in all its sorties, and come late."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from seed_demo.air import FT, KT
from seed_demo.card import Box, Card
from seed_demo.fleet import build_fleet
from seed_demo.flight import Flight, Loading, fly
from seed_demo.hand import Hand
from seed_demo.instruments import RIGHT, Instruments, through_line
from seed_demo.leg_sheet import legs_of
from seed_demo.performance_story import build_performance_sorties
from seed_demo.story import build_sorties
from seed_demo.truth import ErrorCurve
from seed_demo.weather import calm_weather

CARD = Card(
    boxes=(Box(90.0, (90.0,) * 3, 60),),
    altitude_ft=4000.0,
    first_heading_deg=40.0,
    runway_heading_deg=250.0,
    surface_wind_kt=9.0,
)
CALM = calm_weather(15.0 * KT, np.radians(250.0))


def flown(instruments: Instruments, rising_mps: float = 0.0, seed: int = 1) -> Flight:
    return fly(
        CARD,
        ErrorCurve(0.05, 0.1),
        replace(CALM, rising_mps=rising_mps),
        Loading(560.0),
        Hand(),
        instruments,
        np.random.default_rng(seed),
    )


def measured(flight: Flight) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
    return np.concatenate([at for _, _, at in legs_of(flight)])


def test_every_sortie_of_an_airframe_is_flown_with_the_same_instruments() -> None:
    fleet = {airframe.tag: airframe.instruments for airframe in build_fleet()}
    assert len(set(fleet.values())) == len(fleet)
    flown = [sortie.airframe for sortie in build_sorties()]
    flown += [sortie.airframe for sortie in build_performance_sorties()]
    assert all(one.instruments == fleet[one.tag] for one in flown)


def test_errors_show_in_the_readings_of_every_flight_and_not_in_the_truth() -> None:
    wrong = Instruments(airspeed_mps=0.4 * KT, altimeter_m=20.0 * FT, probe_k=0.8)
    for seed in (1, 2):
        bad, good = flown(wrong, seed=seed), flown(RIGHT, seed=seed)
        assert bad.indicated_airspeed - good.indicated_airspeed == pytest.approx(0.4 * KT)
        assert bad.indicated_altitude - good.indicated_altitude == pytest.approx(20.0 * FT)
        assert bad.probe_temperature - good.probe_temperature == pytest.approx(0.8)
        assert np.array_equal(bad.true_airspeed, good.true_airspeed)
        assert np.array_equal(bad.kappa, good.kappa)


def test_a_probe_warms_itself_less_the_faster_it_flies() -> None:
    warm, right = flown(Instruments(probe_warming_k=0.4)), flown(RIGHT)
    more = (warm.probe_temperature - right.probe_temperature)[measured(right)]
    assert more.mean() == pytest.approx(0.4 * np.sqrt(50.0 / 50.6), abs=0.02)


def test_the_velocity_of_the_receiver_is_that_of_a_moment_ago() -> None:
    late, now = flown(Instruments(gps_lag_s=1.0)), flown(RIGHT)
    noise = now.gps_east - now.ground_east
    np.testing.assert_allclose((late.gps_east - noise)[1:], now.ground_east[:-1], atol=1e-9)


@pytest.mark.parametrize("lag_s", [0.2, 0.5, 2.0])
def test_slow_lines_show_a_steady_change_late_by_their_lag(lag_s: float) -> None:
    pressure = 90000.0 + 40.0 * np.arange(60.0)
    shown = through_line(Instruments(line_lag_s=lag_s), pressure)
    assert (pressure - shown)[20:] / 40.0 == pytest.approx(lag_s, rel=1e-3)
    slow, quick = flown(Instruments(line_lag_s=lag_s)), flown(RIGHT)
    assert not np.array_equal(slow.indicated_airspeed, quick.indicated_airspeed)


def test_rising_air_in_which_the_altitude_is_held_gives_airspeed() -> None:
    rough, smooth = flown(RIGHT, rising_mps=0.5), flown(RIGHT)
    gained = (rough.true_airspeed - smooth.true_airspeed)[measured(smooth)]
    # half of it held against for 12 s: g/V * 12 s * 0.5 * 0.5 m/s, less what comes and goes
    assert 0.2 < gained.std() < 0.5
