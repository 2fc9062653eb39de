from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.atmosphere import (
    pressure_from_altitude,
    speed_of_sound,
    standard_temperature,
)
from fleetcal.airdata.pitot_static import (
    impact_pressure_from_airspeed,
    mach_from_pressure_ratio,
    true_airspeed,
)
from fleetcal.airdata.temperature import ambient_temperature, probe_temperature
from fleetcal.units import M_PER_FT, MPS_PER_KT, ZERO_DEGC_K

# Computed from the defining equations with cp = 3.5 R.
# (TAS kt, recovery factor, indicated degC): (rise K, true outside-air temperature degC)
RECOVERY = {
    (150, 1.0, 10.0): (2.963463, 7.036537),
    (150, 0.8, 10.0): (2.370771, 7.629229),
    (180, 0.9, 0.0): (3.840648, -3.840648),
    (100, 0.8, 15.0): (1.053676, 13.946324),
    (250, 0.98, -10.0): (8.067206, -18.067206),
}


def test_published_example_of_a_fast_probe():
    # Published: "Example calculation of SAT" of a training site (rudderpoint.com); -20 degC
    # indicated, Mach 0.73, factor 0.98 gives 253/1.1044 = 229 K = -44 degC. Computed without
    # its rounding: 229.2094 K = -43.9406 degC.
    ambient = ambient_temperature(253.15, 0.73, 0.98)
    assert ambient == pytest.approx(229.0, abs=0.5)
    assert ambient - ZERO_DEGC_K == pytest.approx(-44.0, abs=0.5)
    assert 253.15 / ambient == pytest.approx(1.1044, abs=6e-5)
    assert ambient == pytest.approx(229.2094, abs=5e-5)
    assert ambient - ZERO_DEGC_K == pytest.approx(-43.9406, abs=5e-5)


@pytest.mark.parametrize(("tas_kt", "factor", "indicated_degc"), RECOVERY)
def test_computed_rows_of_the_ram_rise(tas_kt, factor, indicated_degc):
    rise, true_degc = RECOVERY[tas_kt, factor, indicated_degc]
    true_k, indicated_k = true_degc + ZERO_DEGC_K, indicated_degc + ZERO_DEGC_K
    mach = tas_kt * MPS_PER_KT / speed_of_sound(true_k)
    assert ambient_temperature(indicated_k, mach, factor) == pytest.approx(true_k, abs=1e-5)
    assert probe_temperature(true_k, mach, factor) - true_k == pytest.approx(rise, abs=1e-5)
    # Computed: rise = factor TAS^2 / 7592.468, TAS in kt
    assert rise == pytest.approx(factor * tas_kt**2 / 7592.468, abs=1e-5)


def test_leaving_the_ram_rise_out_costs_one_knot():
    # Computed: about 1.1 kt of TAS at 150 kt CAS and 8,000 ft; the factor is not stated there.
    height = 8000.0 * M_PER_FT
    ratio = impact_pressure_from_airspeed(150.0 * MPS_PER_KT) / pressure_from_altitude(height)
    mach = mach_from_pressure_ratio(ratio)
    ambient = standard_temperature(height)
    probe = probe_temperature(ambient, mach, 1.0)
    excess = true_airspeed(mach, probe) - true_airspeed(mach, ambient)
    assert excess / MPS_PER_KT == pytest.approx(1.1, abs=0.1)


def test_a_reading_that_is_already_ambient_stays_as_it_is():
    assert ambient_temperature(281.3, 0.6, 0.0) == 281.3
    assert ambient_temperature(281.3, 0.0, 1.0) == 281.3


def test_ambient_and_probe_temperature_return_to_where_they_started():
    ambient, mach, factor = np.meshgrid(
        np.linspace(200.0, 330.0, 14), np.linspace(0.0, 0.9, 19), np.linspace(0.0, 1.0, 5)
    )
    probe = probe_temperature(ambient, mach, factor)
    np.testing.assert_allclose(ambient_temperature(probe, mach, factor), ambient, rtol=1e-12)
    assert (probe >= ambient).all()


def test_the_rise_grows_with_mach_number_and_recovery_factor():
    assert (np.diff(probe_temperature(280.0, np.linspace(0.0, 0.9, 91), 0.8)) > 0.0).all()
    assert (np.diff(probe_temperature(280.0, 0.3, np.linspace(0.0, 1.0, 11))) > 0.0).all()


def test_shapes_are_broadcast_and_missing_values_pass_through():
    assert ambient_temperature(np.full((2, 1), 280.0), [0.1, 0.2, 0.3], 0.8).shape == (2, 3)
    assert np.shape(probe_temperature(280.0, 0.2, 0.8)) == ()
    for function in (ambient_temperature, probe_temperature):
        assert np.isnan(function([np.nan, 280.0], 0.2, 0.8)).tolist() == [True, False]
        assert np.isnan(function(280.0, [np.nan, 0.2], 0.8)).tolist() == [True, False]
        assert np.isnan(function(280.0, 0.2, [np.nan, 0.8])).tolist() == [True, False]
