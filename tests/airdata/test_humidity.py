"""Moist air is lighter than dry air, and a dry reduction takes that for a position error."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.atmosphere import pressure_from_altitude
from fleetcal.airdata.humidity import (
    humidity_from_dew_point,
    saturation_growth,
    saturation_pressure,
    virtual_temperature,
)
from fleetcal.airdata.position_error import airspeed_correction
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.techniques.speed_course import kappa_from_true_airspeed
from seed_demo.air import moist_impact_pressure, vapour_pressure
from tests.airdata.solved_legs import solve_legs

KT, FT = 1852.0 / 3600.0, 0.3048

# Computed from the defining equations (WMO Magnus formula; Tv = T/(1 - 0.378 e/p)), outside of
# this program: IAS kt, pressure altitude ft, degC, relative humidity; Tv - T in K, and the
# correction in kt and kappa that dry air makes of a perfect port.
FALSE_IN_DRY_AIR = [
    (65, 3000, 26, 0.60, 2.53, 0.27, 0.0084),
    (100, 3000, 26, 0.60, 2.53, 0.41, 0.0084),
    (100, 3000, 26, 0.80, 3.38, 0.55, 0.0112),
    (130, 3000, 26, 0.60, 2.53, 0.53, 0.0083),
    (100, 3000, 15, 0.60, 1.23, 0.21, 0.0042),
    (100, 1500, 32, 0.75, 4.34, 0.70, 0.0141),
]


def readings(ias_kt, altitude_ft, celsius, humidity, factor=0.0):
    """Four legs that read alike."""
    one = np.ones(4)
    return Readings(
        airspeed_mps=one * ias_kt * KT,
        altitude_m=one * altitude_ft * FT,
        temperature_k=one * (celsius + 273.15),
        recovery_factor=one * factor,
        relative_humidity=one * humidity,
    )


def box(true_mps):
    """Ground vectors of a box in a wind."""
    heading = np.radians([20.0, 110.0, 200.0, 290.0])
    return true_mps * np.sin(heading) + 6.0, true_mps * np.cos(heading) - 3.0


@pytest.mark.parametrize("row", FALSE_IN_DRY_AIR)
def test_dry_air_makes_a_false_correction_of_the_size_that_the_equations_give(row):
    ias_kt, altitude_ft, celsius, humidity, warmer_k, false_kt, false_kappa = row
    pressure = pressure_from_altitude(altitude_ft * FT)
    warmth = virtual_temperature(celsius + 273.15, pressure, humidity)
    assert warmth - celsius - 273.15 == pytest.approx(warmer_k, abs=0.005)
    moist = readings(ias_kt, altitude_ft, celsius, humidity)
    east, north = box(moist.true_airspeed(0.0)[0])
    assert float(solve_legs(east, north, moist).kappa[0]) == pytest.approx(0.0, abs=1e-9)
    dry = float(solve_legs(east, north, readings(ias_kt, altitude_ft, celsius, 0.0)).kappa[0])
    assert dry == pytest.approx(false_kappa, abs=0.0001)
    assert airspeed_correction(ias_kt * KT, dry) / KT == pytest.approx(false_kt, abs=0.005)


def test_the_slope_by_kappa_is_the_derivative_in_moist_air_too():
    air, step = readings(110.0, 4000.0, 31.0, 0.85, factor=0.8), 1e-5
    for kappa in (-0.2, 0.0, 0.3):
        by_steps = (air.true_airspeed(kappa + step)[0] - air.true_airspeed(kappa - step)[0]) / (
            2.0 * step
        )
        assert air.true_airspeed(kappa)[1] == pytest.approx(by_steps, rel=1e-8)


# Pressures of saturation over water as tables of the atmosphere print them, hPa (from memory).
@pytest.mark.parametrize(
    ("celsius", "hpa"), [(0.0, 6.11), (10.0, 12.27), (20.0, 23.37), (30.0, 42.43)]
)
def test_saturation_is_that_of_the_tables(celsius, hpa):
    assert saturation_pressure(celsius + 273.15) / 100.0 == pytest.approx(hpa, rel=3e-3)


def test_saturation_grows_as_its_derivative_says():
    kelvin = np.array([250.0, 280.0, 305.0])
    by_steps = (
        np.log(saturation_pressure(kelvin + 0.01) / saturation_pressure(kelvin - 0.01)) / 0.02
    )
    assert saturation_growth(kelvin) == pytest.approx(by_steps, rel=1e-6)


def test_saturated_air_has_its_dew_point_at_its_temperature():
    assert humidity_from_dew_point(290.0, 290.0) == 1.0
    # 12 degrees in air of 26: 14.03 hPa over 33.6 hPa, by tables (from memory)
    assert humidity_from_dew_point(299.15, 285.15) == pytest.approx(14.03 / 33.63, rel=3e-3)


def test_a_mixture_of_gases_of_its_own_agrees_with_the_virtual_temperature():
    """Gas constant and heat capacities of air and vapour mixed, another formula of saturation."""
    kelvin, pressure, humidity = np.array(303.15), np.array(95000.0), np.array(0.8)
    assert vapour_pressure(kelvin, humidity) == pytest.approx(
        float(humidity * saturation_pressure(kelvin)), rel=3e-3
    )
    impact = moist_impact_pressure(np.array(55.0), kelvin, pressure, humidity)
    warmth = virtual_temperature(kelvin, pressure, humidity)
    mach = 55.0 / np.sqrt(1.4 * 287.05287 * warmth)
    # 2e-5 of the pressure is 0.0005 kt: the other heat capacities of vapour
    assert impact == pytest.approx(pressure * ((1.0 + 0.2 * mach**2) ** 3.5 - 1.0), rel=5e-5)


def test_a_speed_course_is_the_inverse_in_moist_air():
    air = readings(95.0, 2500.0, 24.0, 0.7, factor=0.8)
    true, _ = air.true_airspeed(0.04)
    found = kappa_from_true_airspeed(
        air.airspeed_mps,
        air.altitude_m,
        air.temperature_k,
        air.recovery_factor,
        true,
        air.relative_humidity,
    )
    # the rise of the probe goes with V^2 here and with M^2 there: 0.002 kt apart
    assert found == pytest.approx(0.04, abs=5e-5)
