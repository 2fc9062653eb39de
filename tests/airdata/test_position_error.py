from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.atmosphere import (
    SEA_LEVEL_SOUND_SPEED_MPS,
    density,
    pressure_from_altitude,
    standard_temperature,
)
from fleetcal.airdata.pitot_static import impact_pressure_from_airspeed
from fleetcal.airdata.position_error import (
    airspeed_correction,
    altitude_correction,
    corrections,
    kappa_from_airspeeds,
    kappa_from_altitudes,
)
from fleetcal.errors import OutOfRangeError
from fleetcal.units import M_PER_FT, MPS_PER_KT

# Computed from the defining equations: how many pascal, and how many feet, go with one knot.
# (pressure altitude ft, kt): (dqc/dV Pa/kt, dH/dV ft/kt)
EQUIVALENCE = {
    (0, 60): (19.5321, 5.3343),
    (0, 80): (26.1261, 7.1351),
    (0, 100): (32.7917, 8.9556),
    (0, 120): (39.5473, 10.8005),
    (0, 150): (49.8900, 13.6252),
    (0, 200): (67.8445, 18.5286),
    (5000, 60): (19.5321, 6.1907),
    (5000, 100): (32.7917, 10.3933),
    (5000, 150): (49.8900, 15.8125),
    (10000, 60): (19.5321, 7.2234),
    (10000, 100): (32.7917, 12.1270),
    (10000, 150): (49.8900, 18.4503),
}

# Computed from the defining equations: at sea level and 100 kt CAS, a port that feels
# cp = (ps_ind - ps)/qc too much. cp: (indicated kt, dVpc kt, indicated altitude ft at 0 ft)
FINITE = {
    0.01: (99.501567, 0.498433, -4.4521),
    0.02: (99.000568, 0.999432, -8.9036),
    0.05: (97.481776, 2.518224, -22.2546),
    -0.05: (102.454976, -2.454976, 22.2691),
}


@pytest.mark.parametrize(("height_ft", "speed_kt"), EQUIVALENCE)
def test_computed_equivalence_of_knots_pascal_and_feet(height_ft, speed_kt):
    height, speed = height_ft * M_PER_FT, speed_kt * MPS_PER_KT
    moved = corrections(speed, height, 0.0)
    pascal, feet = EQUIVALENCE[height_ft, speed_kt]
    per_kt = impact_pressure_from_airspeed(speed) / (moved.airspeed_per_kappa_mps / MPS_PER_KT)
    assert per_kt == pytest.approx(pascal, abs=6e-5)
    ratio = (moved.altitude_per_kappa_m / M_PER_FT) / (moved.airspeed_per_kappa_mps / MPS_PER_KT)
    assert ratio == pytest.approx(feet, abs=1.2e-4)
    # From memory (high confidence): the flight-test manuals' constant of 58.566 ft per kt.
    air = density(pressure_from_altitude(height), standard_temperature(height))
    sigma = air / density(101325.0, 288.15)
    v = speed / SEA_LEVEL_SOUND_SPEED_MPS
    assert ratio == pytest.approx(58.566 / sigma * v * (1 + 0.2 * v * v) ** 2.5, rel=1e-4)


@pytest.mark.parametrize("cp", FINITE)
def test_computed_corrections_of_a_finite_error(cp):
    indicated_kt, correction_kt, indicated_ft = FINITE[cp]
    kappa = cp / (1.0 - cp)  # the same pressure in units of what the indicator feels
    vic, hic = indicated_kt * MPS_PER_KT, indicated_ft * M_PER_FT
    dvpc = airspeed_correction(vic, kappa) / MPS_PER_KT
    dhpc = altitude_correction(vic, hic, kappa) / M_PER_FT
    assert dvpc == pytest.approx(correction_kt, abs=1e-4)
    assert indicated_kt + dvpc == pytest.approx(100.0, abs=1e-4)
    assert hic / M_PER_FT + dhpc == pytest.approx(0.0, abs=1e-4)
    assert kappa_from_airspeeds(vic, 100.0 * MPS_PER_KT) == pytest.approx(kappa, abs=1e-7)
    # 4.45 ft is printed to 0.00005 ft
    assert kappa_from_altitudes(vic, hic, 0.0) == pytest.approx(kappa, abs=3e-7)


def test_corrections_are_added_and_a_port_that_feels_too_much_reads_slow_and_low():
    # Published sign convention (FAA AC 23-8B, appendix 9): corrections are added.
    moved = corrections(50.0, 1000.0, 0.04)
    assert moved.airspeed_mps > 0.0
    assert moved.altitude_m > 0.0
    assert airspeed_correction(50.0, -0.04) < 0.0
    assert altitude_correction(50.0, 1000.0, -0.04) < 0.0


def test_no_error_needs_no_correction():
    moved = corrections([20.0, 60.0, 90.0], 2500.0, 0.0)
    np.testing.assert_allclose(moved.airspeed_mps, 0.0, atol=1e-12)
    np.testing.assert_allclose(moved.altitude_m, 0.0, atol=1e-9)


def test_one_kappa_explains_airspeed_and_altitude_alike():
    # Exact: the free stream has the pitot pressure of the readings and one static pressure.
    vic, hic, kappa = np.array([25.0, 55.0, 95.0]), np.array([0.0, 3000.0, 9000.0]), 0.09
    moved = corrections(vic, hic, kappa)
    static = pressure_from_altitude(hic + moved.altitude_m)
    impact = impact_pressure_from_airspeed(vic + moved.airspeed_mps)
    pitot = pressure_from_altitude(hic) + impact_pressure_from_airspeed(vic)
    np.testing.assert_allclose(static + impact, pitot, rtol=1e-13)


def test_kappa_returns_from_the_corrections_it_causes():
    vic, hic, kappa = np.meshgrid(
        np.linspace(15.0, 120.0, 8), [-500.0, 0.0, 4000.0, 12000.0], np.linspace(-0.4, 0.4, 17)
    )
    moved = corrections(vic, hic, kappa)
    np.testing.assert_allclose(
        kappa_from_airspeeds(vic, vic + moved.airspeed_mps), kappa, rtol=1e-12, atol=1e-13
    )
    # A pressure altitude is a small part of a large pressure: 1e-16 of it over the impact pressure.
    pressure = pressure_from_altitude(hic)
    grain = 4.0 * np.finfo(float).eps * pressure / impact_pressure_from_airspeed(vic)
    back = kappa_from_altitudes(vic, hic, hic + moved.altitude_m)
    assert (np.abs(back - kappa) <= 1e-12 * np.abs(kappa) + grain).all()


def test_corrections_rise_with_kappa():
    kappa = np.linspace(-0.9, 0.9, 181)
    assert (np.diff(airspeed_correction(60.0, kappa)) > 0.0).all()
    assert (np.diff(altitude_correction(60.0, 2000.0, kappa)) > 0.0).all()


def test_the_derivatives_are_as_good_as_they_say():
    # Exact: dqc/dV = 1.4 p0 V / a0^2 (1 + V^2 / 5 a0^2)^2.5, dh/dp = -1/(rho g) on a standard day.
    vic, hic, kappa = np.array([30.0, 60.0, 90.0]), 2500.0, np.array([-0.1, 0.02, 0.15])
    moved = corrections(vic, hic, kappa)
    impact = impact_pressure_from_airspeed(vic)
    v = (vic + moved.airspeed_mps) / SEA_LEVEL_SOUND_SPEED_MPS
    slope = 1.4 * 101325.0 * v / SEA_LEVEL_SOUND_SPEED_MPS * (1 + 0.2 * v * v) ** 2.5
    np.testing.assert_allclose(moved.airspeed_per_kappa_mps, impact / slope, rtol=3e-8)
    height = hic + moved.altitude_m
    air = density(pressure_from_altitude(height), standard_temperature(height))
    np.testing.assert_allclose(moved.altitude_per_kappa_m, impact / (air * 9.80665), rtol=3e-8)


def test_shapes_are_broadcast_and_missing_values_pass_through():
    assert airspeed_correction(np.full((2, 1), 50.0), [0.0, 0.1, 0.2]).shape == (2, 3)
    assert altitude_correction([50.0, 60.0], 1000.0, 0.05).shape == (2,)
    assert np.shape(kappa_from_airspeeds(50.0, 51.0)) == ()
    holes = [np.nan, 50.0]
    for found in (
        airspeed_correction(holes, 0.1),
        airspeed_correction(50.0, [np.nan, 0.1]),
        altitude_correction(holes, 1000.0, 0.1),
        altitude_correction(50.0, [np.nan, 1000.0], 0.1),
        kappa_from_airspeeds(holes, 51.0),
        kappa_from_airspeeds(50.0, holes),
        kappa_from_altitudes(50.0, [np.nan, 1000.0], 1010.0),
        corrections(holes, 1000.0, 0.1).altitude_per_kappa_m,
    ):
        assert np.isnan(found).tolist() == [True, False]


def test_a_value_out_of_range_is_named():
    with pytest.raises(OutOfRangeError, match="airspeed 400 m/s"):
        airspeed_correction(400.0, 0.0)
    with pytest.raises(OutOfRangeError, match="altitude 30000 m"):
        altitude_correction(50.0, 30000.0, 0.0)
    with pytest.raises(OutOfRangeError, match="altitude 25000 m"):
        kappa_from_altitudes(50.0, 1000.0, 25000.0)
    with pytest.raises(OutOfRangeError, match="airspeed -3 m/s"):
        kappa_from_airspeeds(50.0, -3.0)


def test_a_kappa_that_leaves_no_impact_pressure_is_refused():
    with pytest.raises(OutOfRangeError, match="impact pressure -"):
        airspeed_correction(50.0, -1.1)
