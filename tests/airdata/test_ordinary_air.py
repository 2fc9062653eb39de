"""The air of ordinary flights obeys its laws, and each part of its wind has its size."""

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.atmosphere import pressure_from_altitude
from seed_demo.air import KT, dial_impact_pressure
from tests.airdata.simulations.air import STEP_S
from tests.airdata.simulations.itineraries import draw_itinerary
from tests.airdata.simulations.ordinary import ORDINARY_DAY, ordinary_flights
from tests.airdata.simulations.ordinary_air import LINE_DAY, draw_flight_air

pytestmark = pytest.mark.long

#: Air over which nothing moves but by its column: no wind, no change of pressure.
STILL = replace(
    ORDINARY_DAY,
    wind_kt=(0.0, 0.0),
    thermal_wind_kt_per_1000ft=0.0,
    slow_kt=0.0,
    place_kt=0.0,
    gust_mps=0.0,
    tendency_hpa_per_hour=0.0,
)
#: A wind along the isobars, the same at all heights and all day.
ALONG_ISOBARS = replace(STILL, wind_kt=(25.0, 25.0), friction=(0.0, 0.0), veer_deg_per_hour=0.0)


def _summed_up(flight):
    """Return height over the first one, by hand.

    Dry air and vapour apart, with Magnus' formula (WMO-No. 8, from memory).
    """
    density, pressure = _density(flight), pressure_from_altitude(flight.truth.altitude_m)
    layer = -np.diff(pressure) / (9.80665 * 0.5 * (density[1:] + density[:-1]))
    return np.concatenate([[0.0], np.cumsum(layer)])


def _density(flight):
    kelvin = flight.truth.temperature_k
    vapour = 611.2 * flight.humidity * np.exp(17.62 * (kelvin - 273.15) / (kelvin - 30.03))
    pressure = pressure_from_altitude(flight.truth.altitude_m)
    return (pressure - vapour) / (287.05 * kelvin) + vapour / (461.5 * kelvin)


def _drawn(day, seed, flights, seconds=1500):
    """Return winds, kt, (flights, 2, samples) over the first seconds of flights."""
    winds = []
    for rng in np.random.default_rng(seed).spawn(flights):
        itinerary = draw_itinerary(rng, 100.0, 0.0)
        until = round(seconds / STEP_S)
        short = replace(
            itinerary,
            airspeed_mps=itinerary.airspeed_mps[:until],
            heading_rad=itinerary.heading_rad[:until],
            altitude_m=itinerary.altitude_m[:until],
        )
        winds.append(draw_flight_air(rng, day, short, 270.0).wind / KT)
    return np.array(winds)


def test_height_pressure_and_temperature_obey_the_hydrostatic_equation():
    for airframe in ordinary_flights(STILL, 3, 2, 3):
        for flight in airframe.flights:
            climbed = flight.truth.height_m - flight.truth.height_m[0]
            np.testing.assert_allclose(climbed, _summed_up(flight), atol=0.3)
            assert np.ptp(climbed) > 500.0


def test_surfaces_of_equal_pressure_lean_as_the_wind_along_isobars_asks():
    (airframe,) = ordinary_flights(ALONG_ISOBARS, 1, 3, 4)
    for flight in airframe.flights:
        log, truth = flight.log, flight.truth
        away = np.cumsum([log.east_mps, log.north_mps], axis=1)
        wind = [truth.calm_east_mps.mean(), truth.calm_north_mps.mean()]
        # g dz/dx = f v and g dz/dy = -f u, f at 50 degrees of latitude
        lean = 2.0 * 7.292e-5 * np.sin(np.radians(50.0)) / 9.80665
        leant = lean * (wind[1] * away[0] - wind[0] * away[1])
        left = truth.height_m - truth.height_m[0] - _summed_up(flight)
        np.testing.assert_allclose(left, leant, atol=0.4)
        assert np.ptp(leant) > 5.0


def test_pressure_changes_with_the_hours():
    day = replace(STILL, tendency_hpa_per_hour=1.0)
    flights = [one.flights[0] for one in ordinary_flights(day, 8, 1, 5)]
    rises = []
    for flight in flights:
        left = flight.truth.height_m - flight.truth.height_m[0] - _summed_up(flight)
        rises.append(3600.0 * left[-1] / flight.log.time_s[-1])
        np.testing.assert_allclose(left, rises[-1] * flight.log.time_s / 3600.0, atol=0.4)
    # 8.3 m for a hectopascal; 8 values have an error of 25 %
    assert np.std(rises) == pytest.approx(8.3, rel=0.6)


def test_the_pitot_feels_the_density_of_the_moist_air():
    for airframe in ordinary_flights(ORDINARY_DAY, 2, 2, 8):
        for flight in airframe.flights:
            truth = flight.truth
            mach_squared = truth.airspeed_mps**2 / (1.4 * 287.05 * truth.temperature_k)
            expected = 0.5 * _density(flight) * truth.airspeed_mps**2 * (1.0 + mach_squared / 4.0)
            felt = dial_impact_pressure(truth.indicated_mps) * (1.0 + truth.kappa)
            np.testing.assert_allclose(felt, expected, rtol=5e-4)


def test_the_wind_is_that_of_the_height_that_is_flown():
    day = replace(ALONG_ISOBARS, friction=(0.9, 0.9), friction_depth_m=(900.0, 900.0))
    (airframe,) = ordinary_flights(day, 1, 3, 9)
    for flight in airframe.flights:
        truth = flight.truth
        order = np.argsort(truth.altitude_m)
        for part in (truth.calm_east_mps, truth.calm_north_mps):
            # one wind for each height, however far from the plan it was flown
            apart = np.abs(np.diff(part[order])) / KT
            assert np.median(apart) < 0.02
            assert np.percentile(apart, 99.0) < 0.2
            assert np.ptp(part) / KT > 3.0
        np.testing.assert_allclose(truth.wind_east_mps, truth.calm_east_mps, atol=1e-9)
        np.testing.assert_allclose(truth.wind_north_mps, truth.calm_north_mps, atol=1e-9)


def test_the_wander_and_the_pattern_over_the_country_have_their_deviations():
    # 40 flights, two components: some 80 to 300 values each, error of an sd up to 8 %
    wander = _drawn(replace(STILL, slow_kt=1.5), 10, 40)
    assert np.std(wander) == pytest.approx(1.5, rel=0.2)
    pattern = _drawn(replace(STILL, place_kt=0.8), 11, 40)
    assert np.std(pattern) == pytest.approx(0.8, rel=0.2)
    minute = round(60.0 / STEP_S)
    steps = [np.std(one[..., minute:] - one[..., :-minute]) for one in (wander, pattern)]
    assert 0.5 < steps[0] < 0.9  # 0.76 for a memory of seven minutes
    assert 0.1 < steps[1] < 0.8


def test_a_veer_has_its_deviation_and_is_to_either_side():
    winds = _drawn(replace(ALONG_ISOBARS, veer_deg_per_hour=8.0), 12, 60)
    direction = np.degrees(np.unwrap(np.arctan2(winds[:, 0], winds[:, 1])))
    an_hour = (direction[:, -1] - direction[:, 0]) * 3600.0 / 1500.0
    assert np.std(an_hour) == pytest.approx(8.0, rel=0.3)
    assert abs(np.mean(an_hour)) < 4.0


def test_pressure_is_lower_to_the_left_of_the_wind():
    rng = np.random.default_rng(4)
    itinerary = draw_itinerary(rng, 100.0, 0.0)
    air = draw_flight_air(rng, ORDINARY_DAY, itinerary, 270.0)
    assert air.slope[0] == pytest.approx(0.0, abs=1e-9)
    assert air.slope[1] < 0.0  # a west wind: lower to the north


def test_across_a_line_the_wind_changes_within_a_kilometre_or_two_and_stays():
    for seed in range(5):
        itinerary = draw_itinerary(np.random.default_rng(seed), 100.0, 0.0)
        lined, usual = (
            draw_flight_air(np.random.default_rng(seed + 50), day, itinerary, 200.0)
            for day in (LINE_DAY, ORDINARY_DAY)
        )
        changed = (lined.wind - usual.wind) / KT
        np.testing.assert_array_equal(lined.met, usual.met)
        jump = np.hypot(*np.ptp(changed, axis=1))
        assert 0.5 < jump < 16.0
        # on one side or the other nearly all the time
        assert np.mean(np.hypot(*changed) > 0.45 * jump) > 0.8


def test_near_the_ground_the_wind_is_backed_and_less():
    rng = np.random.default_rng(5)
    itinerary = draw_itinerary(rng, 100.0, 0.0)
    day = replace(
        ORDINARY_DAY,
        wind_kt=(20.0, 20.0),
        friction=(0.7, 0.7),
        thermal_wind_kt_per_1000ft=0.0,
        veer_deg_per_hour=0.0,
        slow_kt=0.0,
        place_kt=0.0,
    )
    air = draw_flight_air(rng, day, itinerary, 270.0)
    east, north = air.wind / KT
    low, high = itinerary.altitude_m.argmin(), itinerary.altitude_m.argmax()
    assert np.hypot(east[low], north[low]) < 14.0
    assert np.degrees(np.arctan2(north[low], east[low])) > 10.0  # from south of west
    assert np.hypot(east[high], north[high]) == pytest.approx(20.0, abs=2.0)
