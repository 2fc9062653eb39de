"""The simulated flight obeys the truths it is built on, and a plain reduction finds kappa."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from seed_demo.air import KT
from seed_demo.card import Box, Card
from seed_demo.flight import Flight, Loading, fly
from seed_demo.gusts import remembering
from seed_demo.hand import PERFECT_HAND, Hand
from seed_demo.instruments import RIGHT
from seed_demo.leg_sheet import legs_of
from seed_demo.truth import ErrorCurve
from seed_demo.weather import calm_weather, drawn_weather

CURVE = ErrorCurve(0.05, 0.12, 0.1)
CARD = Card(
    boxes=(Box(70.0, (90.0,) * 3, 60), Box(105.0, (-90.0,) * 3, 60), Box(135.0, (120.0,) * 2, 70)),
    altitude_ft=4000.0,
    first_heading_deg=40.0,
    runway_heading_deg=250.0,
    surface_wind_kt=9.0,
)


def perfect_flight(curve: ErrorCurve = CURVE) -> Flight:
    weather = calm_weather(15.0 * KT, np.radians(250.0))
    rng = np.random.default_rng(1)
    return fly(CARD, curve, weather, Loading(560.0), PERFECT_HAND, RIGHT, rng)


def real_flight() -> Flight:
    rng = np.random.default_rng(2)
    return fly(CARD, CURVE, drawn_weather(rng), Loading(560.0, 0.004), Hand(), RIGHT, rng)


def reduced(flight: Flight, box: int) -> tuple[float, float, float]:
    """Reduce one box from what the recorder gets: kappa and the wind (m/s), by the plain recipe.

    All legs of a perfect flight have one true airspeed, so the circle through
    the tips of the ground vectors gives it: centre by linear least squares.
    """
    legs = [at for b, _, at in legs_of(flight) if b == box]
    east = np.array([flight.gps_east[at].mean() for at in legs])
    north = np.array([flight.gps_north[at].mean() for at in legs])
    matrix = np.column_stack([2.0 * east, 2.0 * north, np.ones(len(legs))])
    wind_e, wind_n, rest = np.linalg.lstsq(matrix, east**2 + north**2, rcond=None)[0]
    tas = np.sqrt(rest + wind_e**2 + wind_n**2)
    every = np.concatenate(legs)
    # Straight from the definitions, in plain numbers of their own.
    port = 101325.0 * (1.0 - flight.indicated_altitude[every].mean() / 44330.769) ** 5.2558797
    dial = flight.indicated_airspeed[every].mean()
    felt = 101325.0 * ((1.0 + 0.2 * (dial / 340.293988) ** 2) ** 3.5 - 1.0)
    ambient = flight.probe_temperature[every].mean() - 0.8 * tas**2 / (7.0 * 287.05287)
    mach_squared = tas**2 / (1.4 * 287.05287 * ambient)
    static = (port + felt) / (1.0 + 0.2 * mach_squared) ** 3.5
    return float((port - static) / felt), float(wind_e), float(wind_n)


@pytest.mark.parametrize("box", [0, 1, 2])
def test_a_perfect_flight_reduced_by_the_plain_recipe_gives_back_kappa_and_wind(box: int) -> None:
    flight = perfect_flight()
    kappa, wind_e, wind_n = reduced(flight, box)
    dial_kt = CARD.boxes[box].ias_kt
    s = (45.0 / dial_kt) ** 2 * 560.0 / 600.0
    meant = 0.05 + 0.12 * (s - 0.25) + 0.1 * (s - 0.25) ** 2
    assert kappa == pytest.approx(meant, abs=2e-5)
    assert wind_e == pytest.approx(15.0 * KT * np.sin(np.radians(70.0)), abs=1e-3)
    assert wind_n == pytest.approx(15.0 * KT * np.cos(np.radians(70.0)), abs=1e-3)


def test_air_vector_plus_wind_is_ground_vector_at_every_second() -> None:
    flight = real_flight()
    assert flight.air_east + flight.wind_east == pytest.approx(flight.ground_east, abs=1e-12)
    assert flight.air_north + flight.wind_north == pytest.approx(flight.ground_north, abs=1e-12)
    level = np.hypot(flight.air_east, flight.air_north)
    airborne = flight.profile.airborne > 0.0
    assert np.all(flight.true_airspeed >= level - 1e-9)
    assert np.median((flight.true_airspeed / level)[airborne]) == pytest.approx(1.0, abs=1e-3)


def test_the_port_passes_on_the_outside_pressure_plus_kappa_times_the_pressure_felt() -> None:
    flight = real_flight()
    port = 101325.0 * (1.0 - flight.indicated_altitude / 44330.769) ** 5.2558797
    felt = 101325.0 * ((1.0 + 0.2 * (flight.indicated_airspeed / 340.293988) ** 2) ** 3.5 - 1.0)
    assert port - flight.kappa * felt == pytest.approx(flight.true_static, rel=1e-6)


def test_a_port_without_error_shows_the_calibrated_airspeed() -> None:
    flight = perfect_flight(ErrorCurve(0.0, 0.0))
    mach = flight.true_airspeed / np.sqrt(1.4 * 287.05287 * flight.true_temperature)
    impact = flight.true_static * ((1.0 + 0.2 * mach**2) ** 3.5 - 1.0)
    calibrated = 340.293988 * np.sqrt(5.0 * ((1.0 + impact / 101325.0) ** (2.0 / 7.0) - 1.0))
    assert flight.indicated_airspeed == pytest.approx(calibrated, abs=1e-5)


def test_turns_are_flown_at_standard_rate_with_the_bank_that_belongs_to_it() -> None:
    flight = perfect_flight()
    rate = np.gradient(flight.profile.heading_deg)
    steady = np.isclose(np.abs(rate), 3.0, atol=1e-9)
    assert steady.sum() > 150
    assert np.abs(rate).max() < 3.01
    meant = np.arctan(flight.true_airspeed[steady] * np.radians(rate[steady]) / 9.80665)
    assert flight.bank[steady] == pytest.approx(meant, rel=2e-3)


def test_legs_are_straight_level_and_at_one_speed_within_what_a_hand_holds() -> None:
    flight = real_flight()
    spans = legs_of(flight)
    assert len(spans) == 11
    for _, _, at in spans:
        assert flight.indicated_airspeed[at].std() < 2.0 * KT
        assert flight.indicated_altitude[at].std() < 40.0 * 0.3048
        assert np.ptp(flight.profile.heading_deg[at]) < 1.0


def test_random_processes_have_the_scatter_and_the_memory_asked_for() -> None:
    noise = remembering(np.random.default_rng(3), (200_000,), 2.0, 10.0, 1.0)
    assert noise.std() == pytest.approx(2.0, rel=0.03)
    correlation = np.corrcoef(noise[:-10], noise[10:])[0, 1]
    assert correlation == pytest.approx(np.exp(-1.0), abs=0.03)


def test_a_gust_is_seen_by_the_airspeed_indicator_before_the_ground_speed() -> None:
    flight = real_flight()
    at = np.concatenate([a for _, _, a in legs_of(flight)])
    quick = np.diff(flight.true_airspeed)[at]
    over_ground = np.diff(np.hypot(flight.ground_east, flight.ground_north))[at]
    assert quick.std() > 1.5 * over_ground.std()


def angle_apart(a: npt.NDArray[np.float64], b: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    return np.abs((a - b + np.pi) % (2.0 * np.pi) - np.pi)


def test_the_aircraft_drifts_off_its_heading_with_the_wind() -> None:
    flight = perfect_flight()
    at = legs_of(flight)[0][2]
    track = np.arctan2(flight.ground_east, flight.ground_north)[at]
    heading = np.radians(flight.profile.heading_deg[at])
    # Cross-wind part of the wind over the air speed: the wind triangle.
    blows_to = np.radians(70.0)
    cross = 15.0 * KT * np.sin(blows_to - heading)
    along = 15.0 * KT * np.cos(blows_to - heading)
    meant = np.arctan2(cross, flight.true_airspeed[at] + along)
    assert angle_apart(track, heading + meant).max() < 1e-6
