"""What is a thermometer off by? Told by the two heights of a flight, or refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.atmosphere import altitude_from_pressure
from fleetcal.airdata.heights_flown import HeightDoubts, HeightsFlown, height_columns
from fleetcal.airdata.thermometer_check import (
    LARGEST_U_K,
    check_thermometer,
    clashes,
    combined_offset,
)
from tests.airdata.simulations.thermometer import (
    PLANS,
    checked_flights,
    share_inside,
    simulated_heights,
)

# U.S. Standard Atmosphere, 1976, table I, by geometric height, from memory: m, Pa, K
STANDARD = np.array(
    [
        (0.0, 101325.0, 288.150),
        (1000.0, 89876.0, 281.651),
        (2000.0, 79501.0, 275.154),
        (3000.0, 70121.0, 268.659),
        (5000.0, 54048.0, 255.676),
        (8000.0, 35651.0, 236.215),
    ]
)


def heights(time_s, altitude_m, geometric_m, temperature_k, **others):
    """A straight flight at 50 m/s in dry air, at the latitude of the standard atmosphere."""
    one = np.ones(len(time_s))
    values = {
        "time_s": np.asarray(time_s, dtype=float),
        "altitude_m": np.asarray(altitude_m, dtype=float),
        "geometric_m": np.asarray(geometric_m, dtype=float),
        "temperature_k": np.asarray(temperature_k, dtype=float),
        "airspeed_mps": 50.0 * one,
        "east_mps": 50.0 * one,
        "north_mps": 0.0 * one,
        "relative_humidity": 0.0 * one,
        "recovery_factor": 0.0,
        "latitude_rad": float(np.radians(45.5425)),
    }
    return HeightsFlown(**{**values, **others})


def doubts(count, **others):
    values = {
        "u_altitude_m": np.full(count, 3.0),
        "u_recovery_factor": 0.0,
        "u_humidity": 0.05,
        "humidity_noted": True,
    }
    return HeightDoubts(**{**values, **others})


def sawtooth(warm_k=300.0, reads_k=303.0, tops=4, top_m=2500.0, seed=5):
    """Climbs and descents through dry air of one temperature, with a satellite's slow error.

    By the hypsometric formula: z = 29.2713 m/K T ln(p0/p), here without gravity's decrease, which
    1.3 m in 2,500 m is.
    """
    rng = np.random.default_rng(seed)
    geopotential = np.abs(np.arange(0.0, 2.0 * tops * top_m, 3.0) % (2.0 * top_m) - top_m)
    pressure = 101325.0 * np.exp(-geopotential / (29.2713 * warm_k))
    slow = np.convolve(rng.normal(size=geopotential.size + 299), np.full(300, 0.2), "valid")
    geometric = 6356766.0 * geopotential / (6356766.0 - geopotential)
    return heights(
        np.arange(geopotential.size),
        altitude_from_pressure(pressure),
        geometric + 40.0 + slow,
        np.full(geopotential.size, reads_k),
    )


def test_the_tabled_standard_atmosphere_fits_its_own_temperatures():
    z, pressure, temperature = STANDARD.T
    flown = heights(1e7 * np.arange(len(z)), altitude_from_pressure(pressure), z, temperature)
    excess = height_columns(flown, doubts(len(z))).excess_m
    assert np.ptp(excess) < 0.5  # the table's last figures; geometric metres would be 10 m off


def test_a_warm_reading_expects_thicker_air_than_the_satellites_see():
    z, pressure, temperature = STANDARD.T
    time_s = 1e7 * np.arange(len(z))
    flown = heights(time_s, altitude_from_pressure(pressure), z, temperature + 2.0)
    columns = height_columns(flown, doubts(len(z)))
    expected = 2.0 * columns.per_kelvin_m.sum(axis=1)
    assert columns.excess_m - columns.excess_m[0] == pytest.approx(expected, abs=0.5)
    # a kelvin is 1/Tv of the thickness: the sum of dz/T up to 8,000 m
    assert expected[-1] == pytest.approx(-2.0 * np.trapezoid(1.0 / temperature, z), rel=0.003)


def test_a_thermometer_three_kelvin_warm_is_found_so():
    flown = sawtooth()
    found = check_thermometer(flown, doubts(flown.time_s.size))
    assert found.reason == ""
    assert found.range_m == pytest.approx(2300.0, rel=0.05)
    assert 0.2 < found.u_k < 1.0
    assert found.offset_k == pytest.approx(3.0, abs=1.5 * found.u_k)


def test_a_ram_rise_and_moist_air_are_taken_off_before():
    flown = sawtooth(reads_k=300.0)
    plain = check_thermometer(flown, doubts(flown.time_s.size)).offset_k
    fed = replace(flown, recovery_factor=0.9)
    moist = replace(flown, relative_humidity=np.full(flown.time_s.size, 0.5))
    ram = check_thermometer(fed, doubts(flown.time_s.size)).offset_k
    # V^2/2cp at 50 m/s indicated; true airspeed is some 8 % more in the middle of the climb
    assert plain - ram == pytest.approx(0.9 * (50.0 * 1.1) ** 2 / 2010.0, abs=0.15)
    humid = check_thermometer(moist, doubts(flown.time_s.size)).offset_k
    # half of saturation at 300 K: 17.8 hPa of vapour, at 880 hPa on the mean
    assert humid - plain == pytest.approx(300.0 * 0.378 * 17.8 / 880.0, abs=0.4)


def test_what_an_altimeter_and_humidity_leave_open_is_in_the_uncertainty():
    flown = sawtooth()
    count = flown.time_s.size
    sure = check_thermometer(flown, doubts(count)).u_k
    loose = check_thermometer(flown, doubts(count, u_altitude_m=np.full(count, 12.0))).u_k
    damp = check_thermometer(flown, doubts(count, u_humidity=0.2, humidity_noted=False)).u_k
    somewhere = check_thermometer(replace(flown, latitude_rad=None), doubts(count)).u_k
    assert loose > 1.5 * sure
    assert damp > sure
    assert somewhere > sure


def test_a_probe_warmed_on_the_ground_is_found_to_wander():
    flown = sawtooth()
    warmed = flown.temperature_k + 8.0 * np.exp(-flown.time_s / 900.0)
    steady = check_thermometer(flown, doubts(flown.time_s.size))
    found = check_thermometer(replace(flown, temperature_k=warmed), doubts(flown.time_s.size))
    assert found.wander_k > 1.0 > steady.wander_k
    assert found.u_k > steady.u_k


def test_wrong_fixes_samples_without_readings_and_the_ground_do_not_count():
    flown = sawtooth()
    sound = check_thermometer(flown, doubts(flown.time_s.size))
    geometric, temperature = flown.geometric_m.copy(), flown.temperature_k.copy()
    geometric[100:5000:97] += 300.0
    geometric[150:5000:197] = 0.0
    temperature[500:600] = np.nan
    airspeed = flown.airspeed_mps.copy()
    airspeed[:40] = 3.0
    temperature[:40] = 340.0
    found = check_thermometer(
        replace(flown, geometric_m=geometric, temperature_k=temperature, airspeed_mps=airspeed),
        doubts(flown.time_s.size),
    )
    assert found.offset_k == pytest.approx(sound.offset_k, abs=0.3)


def low(flown):
    """The same flight in a twentieth of its height."""
    return {"altitude_m": 0.05 * flown.altitude_m, "geometric_m": 0.05 * flown.geometric_m}


def without_temperature(flown, until_s):
    short = np.where(flown.time_s < until_s, flown.temperature_k, np.nan)
    return {"temperature_k": short}


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        (low, "climbs and descends through 3"),
        (lambda f: {"geometric_m": f.altitude_m + 61.0}, "follows the altimeter"),
        (lambda f: {"geometric_m": f.geometric_m + 3000.0}, "too far off"),
        (lambda f: {"geometric_m": 0.0 * f.geometric_m + 1200.0}, "do not climb"),
        (lambda f: without_temperature(f, 90.0), "together for 90 s"),
        (lambda f: without_temperature(f, 0.0), "together for 0 s"),
    ],
)
def test_heights_that_cannot_tell_are_refused_with_the_reason(changed, words):
    flown = sawtooth()
    found = check_thermometer(replace(flown, **changed(flown)), doubts(flown.time_s.size))
    assert words in found.reason


def test_a_check_that_leaves_it_open_gives_the_reason_with_its_figures():
    flown = sawtooth(tops=1, top_m=600.0)
    count = flown.time_s.size
    found = check_thermometer(flown, doubts(count, u_altitude_m=np.full(count, 12.0)))
    assert found.u_k > LARGEST_U_K
    assert f"{1.96 * found.u_k:.0f} degC either way" in found.reason


def by_sums(offset_k, u_k, supposed_k):
    """Posterior mean and deviation by summing over all offsets that a thermometer can have."""
    true = np.linspace(-40.0, 40.0, 80001)

    def bell(x, deviation):
        return np.exp(-0.5 * (x / deviation) ** 2) / deviation

    weight = 0.95 * bell(true, supposed_k) + 0.05 * bell(true, 4.0 * supposed_k)
    weight *= bell(offset_k - true, u_k)
    weight /= weight.sum()
    mean = weight @ true
    return mean, np.sqrt(weight @ (true - mean) ** 2)


@pytest.mark.parametrize(
    "found", [(1.0, 0.5, 1.0), (-6.0, 0.5, 1.0), (4.4, 1.4, 1.0), (0.3, 3.0, 0.4)]
)
def test_what_is_supposed_of_thermometers_and_the_heights_share_by_their_weights(found):
    assert combined_offset(*found) == pytest.approx(by_sums(*found), abs=1e-4)


def test_a_thermometer_that_is_called_right_is_left_alone():
    assert combined_offset(4.0, 0.5, 0.0) == (0.0, 0.0)


def test_a_thermometer_far_off_is_not_drawn_to_what_is_usual():
    assert not clashes(2.8, 0.5, 1.0)
    assert clashes(-3.0, 0.5, 1.0)
    offset, u = combined_offset(-8.0, 0.5, 1.0)
    assert offset == pytest.approx(-8.0, abs=0.2)
    assert u == pytest.approx(0.5, abs=0.02)


def test_heights_that_hardly_tell_change_hardly_anything():
    offset, u = combined_offset(1.0, 3.0, 1.0)
    assert 0.0 < offset < 0.25
    assert 0.9 < u < 1.1


@pytest.mark.long
def test_intervals_hold_the_truth_of_simulated_flights():
    found = checked_flights(PLANS["three climbs to 2,000 m"], 24, 8)
    error = np.array([one.error_k for one in found])
    u = np.array([one.check.u_k for one in found])
    assert len(found) == 24
    assert share_inside(error, u)[0] >= 0.8
    assert 0.4 < np.sqrt(np.mean((error / u) ** 2)) < 1.4


@pytest.mark.long
def test_simulated_flights_without_any_offset_and_error_are_found_right():
    # truths of the simulator and of the check are worked out apart: they must agree
    plan = replace(PLANS["three climbs to 2,000 m"], u_altimeter_m=0.1, probe_sd_k=0.0)
    made = [simulated_heights(np.random.default_rng([3, i]), plan) for i in range(16)]
    found = [check_thermometer(one.flown, one.doubts) for one in made]
    assert abs(np.mean([one.offset_k for one in found])) < 0.4


@pytest.mark.long
@pytest.mark.parametrize("name", ["one climb to 3,000 m", "three to 3,000 m, some probes 3 K off"])
def test_intervals_hold_the_truth_of_eighty_flights(name):
    found = checked_flights(PLANS[name], 80, 43)
    error = np.array([one.error_k for one in found])
    u = np.array([one.check.u_k for one in found])
    left, u_left = np.array([one.left for one in found]).T
    assert len(found) == 80
    # Monte Carlo error of a share of 95 % 2.4 points, of which two are allowed
    assert share_inside(error, u)[0] >= 0.9
    assert share_inside(left, u_left)[0] >= 0.9
    before = np.std([one.offset_k for one in found])
    assert np.sqrt(np.mean(left**2)) < 0.9 * before
