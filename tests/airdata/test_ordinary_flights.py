"""Ordinary flights are what they are called: flown as meant, recorded by what stays wrong alike."""

from dataclasses import fields, replace
from itertools import pairwise

import numpy as np
import pytest

from fleetcal.airdata.atmosphere import altitude_from_pressure, pressure_from_altitude
from seed_demo.air import FT, KT, dial_impact_pressure
from tests.airdata.simulations import ordinary
from tests.airdata.simulations.air import STEP_S
from tests.airdata.simulations.ordinary import (
    ORDINARY_DAY,
    RECOVERY,
    ROUGH_DAY,
    each_ordinary_airframe,
    ordinary_flights,
)
from tests.airdata.simulations.ordinary_airframes import Port
from tests.airdata.simulations.recorder import SCALING_MPS


@pytest.fixture(scope="module")
def fleet():
    return ordinary_flights(ORDINARY_DAY, 4, 6, 1)


@pytest.fixture(scope="module")
def calm():
    return ordinary_flights(replace(ORDINARY_DAY, gust_mps=0.0), 4, 6, 1)


def _flights(fleet):
    return [flight for airframe in fleet for flight in airframe.flights]


def _arrays(flight):
    return [
        getattr(part, field.name) for part in (flight.log, flight.truth) for field in fields(part)
    ]


def _during(stretch, settled_s=0.0):
    return slice(int(np.ceil(stretch.start_s + settled_s)), int(stretch.stop_s))


def _steady(flight, seconds=40.0):
    """The stretches of one airspeed and course that last, without their first 15 s."""
    return [
        (stretch, _during(stretch, 15.0))
        for stretch in flight.stretches
        if stretch.purpose not in {"turn", "change of speed"}
        and stretch.stop_s - stretch.start_s > seconds
    ]


@pytest.mark.long
def test_an_airframe_is_the_same_whatever_is_simulated_with_it(fleet):
    (alone,) = each_ordinary_airframe(ORDINARY_DAY, range(2, 3), 6, 1)
    assert alone.port == fleet[2].port
    assert alone.errors == fleet[2].errors
    for one, other in zip(alone.flights, fleet[2].flights, strict=True):
        assert one.stretches == other.stretches
        for here, there in zip(_arrays(one), _arrays(other), strict=True):
            np.testing.assert_allclose(here, there, rtol=1e-9, atol=1e-9)


@pytest.mark.long
def test_another_seed_is_another_fleet(fleet):
    (another,) = ordinary_flights(ORDINARY_DAY, 1, 1, 2)
    assert another.port != fleet[0].port
    assert another.flights[0].stretches != fleet[0].flights[0].stretches


@pytest.mark.long
def test_every_stretch_is_flown_at_its_airspeed_and_on_its_course(fleet):
    for flight in _flights(fleet):
        for stretch, inside in _steady(flight):
            read = flight.log.airspeed_mps[inside]
            assert np.mean(read) / KT == pytest.approx(stretch.airspeed_kt, abs=5.0)
            through = [
                flight.log.east_mps[inside] - flight.truth.wind_east_mps[inside],
                flight.log.north_mps[inside] - flight.truth.wind_north_mps[inside],
            ]
            off = np.degrees(np.arctan2(*through)) - stretch.heading_deg
            assert abs(np.mean((off + 180.0) % 360.0 - 180.0)) < 5.0


def test_nearly_every_flight_has_the_usual_airspeeds_and_two_to_five_courses(fleet):
    found: dict[float, list[bool]] = {65.0: [], 80.0: [], 100.0: [], 115.0: []}
    for flight in _flights(fleet):
        flown = [stretch for stretch, _ in _steady(flight, 30.0)]
        for airspeed_kt, seen in found.items():
            seen.append(any(abs(one.airspeed_kt - airspeed_kt) <= 4.0 for one in flown))
        cruise = [one for one in flown if one.purpose == "cruise"]
        assert 2 <= len(cruise) <= 5
        courses = [one.heading_deg for one in cruise]
        for here, there in pairwise(courses):
            assert here != there
        assert 43 * 60 < flight.log.time_s.size < 65 * 60
    for seen in found.values():
        assert np.mean(seen) > 0.75


def test_the_slowest_flying_is_low_down_and_mostly_into_wind(fleet):
    headwinds_kt = []
    for flight in _flights(fleet):
        for stretch, inside in _steady(flight, 30.0):
            if stretch.airspeed_kt < 68.0:
                assert stretch.purpose == "approach"
                assert np.mean(flight.truth.altitude_m[inside]) < flight.truth.altitude_m[0] + 250.0
                along = np.radians(stretch.heading_deg)
                wind = [flight.truth.calm_east_mps[inside], flight.truth.calm_north_mps[inside]]
                headwinds_kt.append(
                    -np.mean(np.sin(along) * wind[0] + np.cos(along) * wind[1]) / KT
                )
    assert np.mean(headwinds_kt) > 3.0


def test_turns_are_ordinary_ones(fleet):
    for flight in _flights(fleet):
        assert 1.03 < flight.truth.load_factor.max() < 1.2
        assert np.median(flight.truth.load_factor) == pytest.approx(1.0, abs=1e-3)


def test_climbs_and_descents_go_at_a_few_hundred_feet_a_minute(fleet):
    for flight in _flights(fleet):
        for stretch, inside in _steady(flight, 60.0):
            altitude = flight.truth.altitude_m[inside] / FT
            per_minute = 60.0 * (altitude[-1] - altitude[0]) / (altitude.size - 1)
            expected = {"climb": 525.0, "descent": -450.0, "cruise": 0.0, "slow": 0.0}
            if stretch.purpose in expected:
                assert per_minute == pytest.approx(expected[stretch.purpose], abs=200.0)


@pytest.mark.long
def test_a_rough_day_is_rougher_and_everybody_keeps_flying(fleet):
    rough = _flights(ordinary_flights(ROUGH_DAY, 4, 6, 1))

    def gusts(flights):
        parts = [one.truth.wind_east_mps - one.truth.calm_east_mps for one in flights]
        return np.std(np.concatenate(parts))

    assert gusts(rough) > 1.8 * gusts(_flights(fleet))
    for flights, slowest_kt in ((_flights(fleet), 52.0), (rough, 42.0)):
        for flight in flights:
            assert flight.truth.indicated_mps.min() > slowest_kt * KT


@pytest.mark.long
def test_a_gust_reaches_the_airspeed_and_hardly_the_ground_vector(fleet, calm):
    for one, still in zip(_flights(fleet), _flights(calm), strict=True):
        for stretch, inside in _steady(one, 120.0):
            along = np.radians(stretch.heading_deg)
            parts = [
                getattr(one.truth, name)[inside] - getattr(still.truth, name)[inside]
                for name in ("wind_east_mps", "wind_north_mps", "airspeed_mps")
            ]
            gust = np.diff(parts[0] * np.sin(along) + parts[1] * np.cos(along))
            over_ground = [
                np.hypot(log.east_mps[inside], log.north_mps[inside])
                for log in (one.log, still.log)
            ]
            felt = np.diff(parts[2])
            assert np.corrcoef(felt, -gust)[0, 1] > 0.85
            assert np.std(felt) == pytest.approx(np.std(gust), rel=0.35)
            assert np.std(np.diff(over_ground[0] - over_ground[1])) < 0.5 * np.std(gust)


def test_the_receivers_height_wanders_slowly_about_the_true_one(fleet):
    off = [flight.log.height_m - flight.truth.height_m for flight in _flights(fleet)]
    # 24 flights of 50 minutes with 5 minutes memory: some 120 values, error of the sd 7 %
    assert np.std(np.concatenate(off)) == pytest.approx(5.0, rel=0.25)
    assert max(np.std(np.diff(one)) for one in off) < 1.5


@pytest.mark.long
def test_the_receivers_height_comes_late_by_the_receivers_lag(monkeypatch):
    monkeypatch.setattr(ordinary, "GNSS_HEIGHT_M", 0.0)
    (airframe,) = ordinary_flights(ORDINARY_DAY, 1, 1, 6)
    (flight,) = airframe.flights
    lag_s = STEP_S * round(airframe.instruments.gps_lag_s / STEP_S)
    then = np.interp(flight.log.time_s - lag_s, flight.log.time_s, flight.truth.height_m)
    assert lag_s > 0.0
    # steps of 0.1 m, and height is not quite straight between two seconds
    np.testing.assert_allclose(flight.log.height_m[1:], then[1:], atol=0.3)
    assert np.std(flight.log.height_m[1:] - then[1:]) < 0.06


def test_a_port_has_its_level_its_tilt_and_a_step():
    def at(port, lift):
        return port.error(np.array(SCALING_MPS), np.array(lift))

    straight = Port(level=0.03, tilt=0.1, bend=0.0, where=0.3)
    assert at(straight, 0.25) == pytest.approx(0.03)
    assert at(straight, 0.45) == pytest.approx(0.05)
    bent = replace(straight, bend=0.01)
    assert at(bent, 0.25) == pytest.approx(0.03)
    # tanh of 1.5 and of -0.5, from a table
    assert at(bent, 0.45) == pytest.approx(0.05 + 0.005 * (0.9051 + 0.4621), abs=1e-6)


def test_errors_of_an_airframe_are_the_same_on_all_its_flights(fleet):
    for airframe in fleet:
        errors = airframe.errors
        for flight in airframe.flights:
            log, truth = flight.log, flight.truth
            # medians over a flight: lags and steps go both ways
            airspeed = np.median(log.airspeed_mps - truth.indicated_mps)
            assert airspeed == pytest.approx(errors.airspeed_mps, abs=0.03)
            port = pressure_from_altitude(truth.altitude_m)
            port = port + truth.kappa * dial_impact_pressure(truth.indicated_mps)
            altitude = np.median(log.altitude_m - altitude_from_pressure(port))
            assert altitude == pytest.approx(errors.altitude_m, abs=0.5)
            mach_squared = truth.airspeed_mps**2 / (1.4 * 287.053 * truth.temperature_k)
            rise = 0.2 * (RECOVERY + errors.recovery) * mach_squared
            probe = np.median(log.temperature_k - truth.temperature_k * (1.0 + rise))
            assert probe == pytest.approx(errors.temperature_k, abs=0.12)
    assert len({airframe.errors for airframe in fleet}) == len(fleet)


def test_humidity_is_of_the_flight_and_within_what_a_day_can_have(fleet):
    humidity = [flight.humidity for flight in _flights(fleet)]
    assert len(set(humidity)) == len(humidity)
    assert 0.2 <= min(humidity) < 0.4 < 0.7 < max(humidity) <= 0.9


def test_the_port_of_an_airframe_has_its_error_on_all_flights_and_more_in_turns(fleet):
    for airframe in fleet:
        for flight in airframe.flights:
            truth = flight.truth
            expected = airframe.kappa_at(truth.indicated_mps, truth.load_factor)
            np.testing.assert_allclose(truth.kappa, expected, atol=1e-6)
        assert airframe.kappa_at(70.0 * KT, 1.1) != airframe.kappa_at(70.0 * KT)
    tilts = {airframe.port.tilt for airframe in fleet}
    assert len(tilts) == len(fleet)
