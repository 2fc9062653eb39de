"""The simulator's own air against published values, since nothing else checks it."""

from __future__ import annotations

import numpy as np
import pytest

from seed_demo import air

# NASA Reference Publication 1046, tables A19 and A27: airspeed (kt) -> impact pressure
# (mm of water at 20 degC, of which 10350.8 make 101325 Pa), to 0.1 mm.
IMPACT_MM_WATER = {30: 14.9, 40: 26.5, 50: 41.5, 60: 59.7, 70: 81.4, 80: 106.4, 90: 134.8}


@pytest.mark.parametrize(("kt", "mm_water"), IMPACT_MM_WATER.items())
def test_impact_pressure_agrees_with_the_published_table(kt: int, mm_water: float) -> None:
    pascal = air.dial_impact_pressure(np.array([kt * air.KT]))[0]
    assert pascal * 10350.8 / 101325.0 == pytest.approx(mm_water, abs=0.06)


def test_true_airspeed_agrees_with_a_published_flight_dynamics_test() -> None:
    # AerodynamicsTest.java of the public repository nasa/MAV: 290 kt calibrated at 10 000 m.
    static = air.standard_pressure(np.array([10000.0]))
    mach = air.mach_number(air.dial_impact_pressure(np.array([290.0 * air.KT])), static)
    tas = mach * air.speed_of_sound(air.standard_temperature(np.array([10000.0])))
    assert static[0] == pytest.approx(26436.2587, rel=2e-6)
    assert tas[0] / air.KT == pytest.approx(472.0033, abs=1e-3)


def test_each_relation_and_its_inverse_close() -> None:
    altitude = np.linspace(-300.0, 5000.0, 9)
    speed = np.linspace(20.0, 90.0, 9)
    static = air.standard_pressure(altitude)
    assert air.pressure_altitude(static) == pytest.approx(altitude, abs=1e-7)
    assert air.dial_speed(air.dial_impact_pressure(speed)) == pytest.approx(speed, rel=1e-11)
    mach = speed / 340.0
    again = air.mach_number(air.impact_pressure(mach, static), static)
    assert again == pytest.approx(mach, rel=1e-11)


def test_a_probe_of_full_recovery_feels_the_total_temperature() -> None:
    # Energy: total minus ambient temperature is V^2/(2 cp), cp = 3.5 R.
    ambient = np.array([280.0])
    speed = 70.0
    mach = speed / air.speed_of_sound(ambient)
    rise = air.probe_temperature(ambient, mach, 1.0) - ambient
    assert rise[0] == pytest.approx(speed**2 / (2.0 * 3.5 * air.GAS_CONSTANT), rel=1e-12)
