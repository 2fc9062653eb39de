from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.atmosphere import density, pressure_from_altitude, standard_temperature
from fleetcal.airdata.performance.vertical_speed import (
    rate_in_standard_air,
    tapeline_rate,
    unaccelerated_rate,
)
from fleetcal.errors import OutOfRangeError
from tests.airdata.performance.parabolic_polar import Polar

FT, KT, LBF = 0.3048, 1852.0 / 3600.0, 4.4482216152605
FTMIN = FT / 60.0
POLAR = Polar(0.037, 0.72, 7.38, 174.0 * FT**2)
GRAVITY = 9.80665


def test_500_feet_in_42_seconds_on_a_warm_day_are_more_than_the_altimeter_says():
    # Computed from dh = dHp T/T_std: 3,000 ft, 10 degC.
    rate = 500.0 * FT / 42.0
    assert rate / FTMIN == pytest.approx(714.2857, abs=5e-5)
    real = tapeline_rate(rate, 3000.0 * FT, 283.15)
    assert real / FTMIN == pytest.approx(716.6740, abs=5e-5)


def test_the_tapeline_is_the_hydrostatic_equation():
    low, high, warmer = 2990.0 * FT, 3010.0 * FT, 12.0
    drop = pressure_from_altitude(low) - pressure_from_altitude(high)
    air = density(pressure_from_altitude(3000.0 * FT), standard_temperature(3000.0 * FT) + warmer)
    by_density = drop / (air * GRAVITY)
    temperature = standard_temperature(3000.0 * FT) + warmer
    assert tapeline_rate(high - low, 3000.0 * FT, temperature) == pytest.approx(by_density, 1e-6)


def test_a_climb_at_constant_cas_hides_some_of_its_power():
    # V dV/dh / g at 100 kt with 0.8 kt more TAS in 500 ft: 1.4 % of the rate
    rate, tas = 5.0, 100.0 * KT
    acceleration = 0.8 * KT / (500.0 * FT) * rate
    steady = unaccelerated_rate(rate, tas, acceleration)
    assert steady / rate == pytest.approx(1.0 + tas * 0.8 * KT / (500.0 * FT) / GRAVITY)


def climb(weight_kg, tas, air, thrust_power):
    weight = weight_kg * GRAVITY
    return thrust_power / weight - POLAR.sink(tas, weight, air)


@pytest.mark.parametrize("exponent", [0.0, 0.5])
def test_a_climb_in_warm_air_gives_the_rate_of_standard_air_at_the_same_cas(exponent):
    pressure, standard, warm = 90000.0, 281.0, 296.0
    weight, standard_power = 1000.0 * GRAVITY, 85e3
    ratio = np.sqrt(warm / standard)
    power = standard_power * (standard / warm) ** exponent
    seen = climb(1000.0, 40.0 * ratio, density(pressure, warm), power)
    truth = climb(1000.0, 40.0, density(pressure, standard), standard_power)
    told = rate_in_standard_air(seen, warm, standard, power / weight, exponent)
    assert told == pytest.approx(truth, rel=1e-12)
    assert abs(seen - truth) > 0.1


def test_a_glide_needs_no_engine_for_its_temperature():
    pressure, standard, warm = 90000.0, 281.0, 296.0
    seen = -POLAR.sink(40.0 * np.sqrt(warm / standard), 9000.0, float(density(pressure, warm)))
    truth = -POLAR.sink(40.0, 9000.0, float(density(pressure, standard)))
    assert rate_in_standard_air(seen, warm, standard) == pytest.approx(truth, rel=1e-12)


def test_a_temperature_in_degrees_celsius_is_refused():
    with pytest.raises(OutOfRangeError, match="temperature 10 K"):
        tapeline_rate(3.0, 900.0, 10.0)
    with pytest.raises(OutOfRangeError, match="temperature"):
        rate_in_standard_air(3.0, 285.0, 12.0)


def test_best_glide_of_a_published_light_single():
    # Inputs and formulae: Lowry, Performance of Light Aircraft, example 9.1, seen in a secondary
    # copy; the results are computed from them, the printed ones were not seen.
    altitude = 4000.0 * FT
    air = float(density(pressure_from_altitude(altitude), standard_temperature(altitude)))
    weight = 2400.0 * LBF
    tas, angle = POLAR.best_glide(weight, air)
    # the source is at geometric or geopotential 4,000 ft: 0.0009 kt
    assert tas / KT == pytest.approx(76.234, abs=1.5e-3)
    assert tas / FT == pytest.approx(128.668, abs=2e-3)
    assert np.rad2deg(angle) == pytest.approx(5.37905, abs=5e-6)
    assert POLAR.best_glide_ratio == pytest.approx(10.62034, abs=5e-6)
    assert weight * np.sin(angle) / LBF == pytest.approx(224.986, abs=5e-4)
    assert tas * np.sin(angle) / FTMIN == pytest.approx(723.71, abs=2e-2)
    assert tas * np.sqrt(air / 1.225) / KT == pytest.approx(71.841, abs=1.5e-3)
    slowest = POLAR.least_sink_speed(weight, air)
    assert slowest / KT == pytest.approx(58.053, abs=1.5e-3)
    assert POLAR.sink(slowest, weight, air) / FTMIN == pytest.approx(639.19, abs=2e-2)
    assert slowest / POLAR.sink(slowest, weight, air) == pytest.approx(9.19749, abs=5e-6)


def test_a_textbook_light_aircraft_glides_as_its_book_says():
    # Anderson, Introduction to Flight, the single of chapter 6: ratio 13.6 and 4.2 degrees
    # (from memory); the longer figures are computed.
    area = 174.0 * FT**2
    polar = Polar(0.025, 0.8, (35.8 * FT) ** 2 / area, area)
    assert polar.best_glide_ratio == pytest.approx(13.6, abs=0.05)
    assert polar.best_glide_ratio == pytest.approx(13.60593, abs=5e-6)
    assert np.rad2deg(np.arctan(1.0 / polar.best_glide_ratio)) == pytest.approx(4.20353, abs=5e-6)


def test_a_polar_without_drag_is_refused():
    with pytest.raises(OutOfRangeError, match="zero_lift_drag 0"):
        Polar(0.0, 0.8, 7.0, 16.0)
