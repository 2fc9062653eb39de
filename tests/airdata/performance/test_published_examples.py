"""What books and closed forms say of gliding and climbing on a parabolic polar."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.atmosphere import density, pressure_from_altitude, standard_temperature
from fleetcal.airdata.performance.path_coefficient import (
    BEST_ANGLE,
    BEST_RATE,
    path_coefficient,
)
from fleetcal.airdata.pitot_static import airspeed_from_impact_pressure
from tests.airdata.performance.parabolic_polar import Polar

FT, KT, LBF, HP = 0.3048, 1852.0 / 3600.0, 4.4482216152605, 745.69987158227022
FTMIN = FT / 60.0
LOWRY = Polar(0.037, 0.72, 7.38, 174.0 * FT**2)
ANDERSON = Polar(0.025, 0.8, (35.8 * FT) ** 2 / (174.0 * FT**2), 174.0 * FT**2)


def test_the_light_single_glides_best_at_the_calibrated_speed_of_the_example() -> None:
    # Lowry, Performance of Light Aircraft, example 9.1: inputs and formulae seen in a secondary
    # copy; 71.858 kt computed from them with the compressible relations.
    static = pressure_from_altitude(4000.0 * FT)
    air = density(static, standard_temperature(4000.0 * FT))
    tas, _ = LOWRY.best_glide(2400.0 * LBF, float(air))
    mach = tas / np.sqrt(1.4 * static / air)
    impact = static * ((1.0 + 0.2 * mach**2) ** 3.5 - 1.0)
    assert float(airspeed_from_impact_pressure(impact)) / KT == pytest.approx(71.858, abs=1.5e-3)


def test_speeds_of_the_light_single_with_lift_taken_as_weight() -> None:
    # The same example with the usual approximation, computed: 76.402 kt and 58.053 kt.
    air = float(density(pressure_from_altitude(4000.0 * FT), standard_temperature(4000.0 * FT)))
    weight = 2400.0 * LBF
    slowest = LOWRY.least_sink_speed(weight, air)
    assert slowest / KT == pytest.approx(58.053, abs=1.5e-3)
    assert slowest * 3.0**0.25 / KT == pytest.approx(76.402, abs=1.5e-3)


def test_identities_of_the_parabolic_polar() -> None:
    # Exact: least power at 3^(-1/4) of the speed of least drag, sqrt(3) times the lift
    # coefficient, sqrt(3)/2 of the ratio.
    weight, air = 9000.0, 1.1
    speeds = np.linspace(20.0, 80.0, 600_001)
    pressure = 0.5 * air * speeds**2 * ANDERSON.area_m2
    lift = weight / pressure
    every = speeds * pressure * (ANDERSON.zero_lift_drag + lift**2 / ANDERSON.lift_factor) / weight
    flattest, slowest = int(np.argmax(speeds / every)), int(np.argmin(every))
    assert ANDERSON.least_sink_speed(weight, air) == pytest.approx(speeds[slowest], abs=2e-4)
    assert ANDERSON.sink(float(speeds[slowest]), weight, air) == pytest.approx(every[slowest])
    assert speeds[slowest] / speeds[flattest] == pytest.approx(0.7598357, abs=1e-5)
    assert lift[slowest] / lift[flattest] == pytest.approx(np.sqrt(3.0), rel=2e-5)
    ratios = speeds / every
    assert ratios[slowest] / ratios[flattest] == pytest.approx(0.8660254, abs=1e-5)
    assert ratios[flattest] == pytest.approx(ANDERSON.best_glide_ratio, rel=1e-9)


def test_a_textbook_light_aircraft_climbs_and_glides_as_computed() -> None:
    # Anderson, Introduction to Flight, the single of chapter 6 (its inputs from memory): 25.769
    # statute miles from 10,000 ft, 110.03 ft/s and 1,498.0 ft/min with 230 hp at 0.8, computed.
    miles = 10_000.0 * ANDERSON.best_glide_ratio / 5280.0
    assert miles == pytest.approx(25.769, abs=5e-4)
    weight, power = 2950.0 * LBF, 0.8 * 230.0 * HP
    best = ANDERSON.least_sink_speed(weight, 1.225)
    assert best / FT == pytest.approx(110.03, abs=1e-2)
    rate = power / weight - ANDERSON.sink(best, weight, 1.225)
    assert rate / FTMIN == pytest.approx(1498.0, abs=0.1)


def test_the_pooled_number_is_best_where_the_closed_forms_say() -> None:
    # y/s^1.5 of a glide is largest at the least sink, y/s at the flattest glide: exact.
    weight, air = 9000.0, 1.1
    speeds = np.linspace(25.0, 60.0, 35_001)
    rates = np.array([-ANDERSON.sink(float(v), weight, air) for v in speeds])
    lift = (23.0 / speeds) ** 2
    y = path_coefficient(rates, speeds, lift)
    least = ANDERSON.least_sink_speed(weight, air)
    assert speeds[np.argmax(y / lift**BEST_RATE)] == pytest.approx(least, abs=1e-3)
    assert speeds[np.argmax(y / lift**BEST_ANGLE)] == pytest.approx(least * 3.0**0.25, abs=1e-3)
