from __future__ import annotations

import numpy as np
import pytest
from ambiance import Atmosphere
from fluids.atmosphere import ATMOSPHERE_1976

from fleetcal.airdata.atmosphere import (
    GAS_CONSTANT_JPKGK,
    GRAVITY_MPS2,
    LAPSE_RATE_KPM,
    SEA_LEVEL_DENSITY_KGM3,
    SEA_LEVEL_PRESSURE_PA,
    SEA_LEVEL_SOUND_SPEED_MPS,
    SEA_LEVEL_TEMPERATURE_K,
    altitude_from_pressure,
    density,
    pressure_from_altitude,
    require_between,
    speed_of_sound,
    standard_temperature,
)
from fleetcal.errors import OutOfRangeError
from fleetcal.units import M_PER_FT, MPS_PER_KT, PA_PER_INHG

# The table's gas constant is that of the U.S. Standard Atmosphere 1976, 8314.32/28.9644; the
# room's is that of ICAO Doc 7488. They differ by 7e-7, which reaches 1e-6 in pressure at 10 km:
# no comparison across the two is tighter than this.
BETWEEN_STANDARDS = 2e-6

# Computed from the defining equations, and equal to two general libraries within 1e-6.
# geopotential height m: (T K, p Pa, rho kg/m3, a m/s, delta, sigma)
BY_METRES = {
    -300: (290.100, 104981.222, 1.2606708, 341.4436, 1.0360841, 1.0291197),
    0: (288.150, 101325.000, 1.2249992, 340.2941, 1.0000000, 1.0000000),
    500: (284.900, 95460.839, 1.1672681, 338.3696, 0.9421252, 0.9528725),
    1000: (281.650, 89874.571, 1.1116418, 336.4341, 0.8869930, 0.9074633),
    1500: (278.400, 84556.005, 1.0580666, 334.4874, 0.8345029, 0.8637285),
    2000: (275.150, 79495.216, 1.0064896, 332.5293, 0.7845568, 0.8216247),
    3000: (268.650, 70108.545, 0.9091215, 328.5780, 0.6919175, 0.7421405),
    4000: (262.150, 61640.235, 0.8191289, 324.5787, 0.6083418, 0.6686771),
    5000: (255.650, 54019.912, 0.7361154, 320.5295, 0.5331351, 0.6009109),
    6000: (249.150, 47181.028, 0.6596967, 316.4285, 0.4656405, 0.5385283),
    8000: (236.150, 35599.811, 0.5251671, 308.0627, 0.3513428, 0.4287082),
    10000: (223.150, 26436.268, 0.4127063, 299.4633, 0.2609057, 0.3369033),
    11000: (216.650, 22632.064, 0.3639178, 295.0696, 0.2233611, 0.2970759),
}

# Computed from the defining equations.
# pressure altitude ft: (T K, p Pa, p inHg, rho kg/m3, a kt, delta, sigma)
BY_FEET = {
    -1000: (290.131, 105040.58, 31.0185, 1.2612479, 663.7490, 1.036670, 1.029591),
    0: (288.150, 101325.00, 29.9213, 1.2249992, 661.4788, 1.000000, 1.000000),
    1000: (286.169, 97716.57, 28.8557, 1.1895528, 659.2009, 0.964388, 0.971064),
    2000: (284.188, 94212.91, 27.8211, 1.1548965, 656.9150, 0.929809, 0.942773),
    3000: (282.206, 90811.67, 26.8167, 1.1210180, 654.6212, 0.896241, 0.915117),
    4000: (280.225, 87510.55, 25.8419, 1.0879051, 652.3193, 0.863662, 0.888086),
    5000: (278.244, 84307.28, 24.8959, 1.0555457, 650.0093, 0.832048, 0.861671),
    6000: (276.263, 81199.62, 23.9782, 1.0239279, 647.6910, 0.801378, 0.835860),
    7500: (273.291, 76712.60, 22.6532, 0.9778656, 644.1979, 0.757095, 0.798258),
    8000: (272.300, 75262.38, 22.2250, 0.9628695, 643.0293, 0.742782, 0.786016),
    10000: (268.338, 69681.66, 20.5770, 0.9046365, 638.3336, 0.687705, 0.738479),
    12000: (264.376, 64440.85, 19.0294, 0.8491369, 633.6031, 0.635982, 0.693173),
    15000: (258.432, 57181.96, 16.8858, 0.7708158, 626.4404, 0.564342, 0.629238),
    18000: (252.488, 50599.85, 14.9421, 0.6981449, 619.1949, 0.499382, 0.569915),
    20000: (248.526, 46563.26, 13.7501, 0.6526937, 614.3170, 0.459544, 0.532812),
    25000: (238.620, 37600.92, 11.1035, 0.5489457, 601.9495, 0.371092, 0.448119),
    30000: (228.714, 30089.59, 8.8855, 0.4583121, 589.3225, 0.296961, 0.374133),
}

# Computed, and equal to the two libraries: what a table by geometric height prints.
# geometric m: (geopotential m, T K, p Pa, rho kg/m3, a m/s)
BY_GEOMETRIC_METRES = {
    1000: (999.84, 281.651, 89876.285, 1.111659, 336.435),
    2000: (1999.37, 275.154, 79501.425, 1.006553, 332.532),
    5000: (4996.07, 255.676, 54048.286, 0.736428, 320.546),
    10000: (9984.29, 223.252, 26499.898, 0.413510, 299.532),
    11000: (10981.00, 216.774, 22699.961, 0.364802, 295.154),
}

# From memory (high confidence): equivalent pressures of the altimeter test table, 14 CFR 43
# appendix E. pressure altitude ft: inHg
ALTIMETER_TEST = {
    500: 29.385, 1500: 28.335, 14000: 17.577, 16000: 16.216, 22000: 12.636,
    35000: 7.041, 40000: 5.538, 45000: 4.355, 50000: 3.425,
}  # fmt: skip


def geometric(geopotential_m):
    """Height above the sea where the standard's inverse-square gravity gives this geopotential."""
    radius = 6356766.0  # effective earth radius of the U.S. Standard Atmosphere 1976
    return radius * geopotential_m / (radius - geopotential_m)


def air_at(height_m):
    """Temperature, pressure, density and speed of sound, all from the room."""
    temperature = standard_temperature(height_m)
    pressure = pressure_from_altitude(height_m)
    return temperature, pressure, density(pressure, temperature), speed_of_sound(temperature)


def test_the_constants_are_those_of_the_standard():
    # Published: p0, T0, g0, lapse (U.S. Standard Atmosphere 1976). The gas constant of ICAO
    # Doc 7488 is from memory (high confidence).
    assert SEA_LEVEL_PRESSURE_PA == 101325.0
    assert SEA_LEVEL_TEMPERATURE_K == 288.15
    assert SEA_LEVEL_DENSITY_KGM3 == 1.225
    assert LAPSE_RATE_KPM == 0.0065
    assert GRAVITY_MPS2 == 9.80665
    assert GAS_CONSTANT_JPKGK == 287.05287


def test_what_follows_from_the_constants_agrees_with_print():
    # Published: exponents 5.255876 and 4.255876 (a course page on the 1976 standard).
    exponent = GRAVITY_MPS2 / (GAS_CONSTANT_JPKGK * LAPSE_RATE_KPM)
    assert exponent == pytest.approx(5.255876, rel=BETWEEN_STANDARDS)
    assert exponent - 1.0 == pytest.approx(4.255876, rel=BETWEEN_STANDARDS)
    # Computed: 340.293988 m/s = 661.478594 kt with this gas constant.
    assert pytest.approx(340.293988, abs=5e-7) == SEA_LEVEL_SOUND_SPEED_MPS
    assert pytest.approx(661.478594, abs=1e-6) == SEA_LEVEL_SOUND_SPEED_MPS / MPS_PER_KT
    # Published: tables print a sea-level density of 1.2250 kg/m3 and 29.921 inHg.
    rho0 = density(SEA_LEVEL_PRESSURE_PA, SEA_LEVEL_TEMPERATURE_K)
    assert rho0 == pytest.approx(SEA_LEVEL_DENSITY_KGM3, abs=5e-5)
    assert pytest.approx(29.921, abs=5e-4) == SEA_LEVEL_PRESSURE_PA / PA_PER_INHG


@pytest.mark.parametrize(
    ("height_m", "temperature_k", "pressure_mbar", "last_digit", "rho"),
    [
        # Published: U.S. Standard Atmosphere 1976, as quoted from the paper's own table. Its last
        # digit is cut off rather than rounded at 20 km (54.7488), hence one whole unit of it.
        (0.0, 288.150, 1013.25, 0.01, 1.2250),
        (11000.0, 216.650, 226.32, 0.01, 0.36392),
        (20000.0, 216.650, 54.748, 0.001, 0.088035),
    ],
)
def test_published_table_rows(height_m, temperature_k, pressure_mbar, last_digit, rho):
    temperature, pressure, found, _ = air_at(height_m)
    assert temperature == pytest.approx(temperature_k, abs=5e-4)
    assert pressure / 100.0 == pytest.approx(pressure_mbar, abs=last_digit)
    assert found == pytest.approx(rho, rel=3e-5)  # half a unit of the fifth figure


def test_published_ratios_at_the_tropopause():
    # Published: 36,089 ft, theta 0.751865, delta 0.223361, sigma 0.297076; p 22632 Pa.
    temperature, pressure, rho, _ = air_at(11000.0)
    assert pytest.approx(36089.0, abs=0.5) == 11000.0 / M_PER_FT
    assert temperature / SEA_LEVEL_TEMPERATURE_K == pytest.approx(0.751865, abs=1e-6)
    assert pressure / SEA_LEVEL_PRESSURE_PA == pytest.approx(0.223361, abs=1e-6)
    assert rho / air_at(0.0)[2] == pytest.approx(0.297076, abs=1e-6)
    assert pressure == pytest.approx(22632.0, abs=0.5)


def test_published_reference_value_at_ten_kilometres():
    # Published: reference value in NASA open-source code (AerodynamicsTest).
    assert air_at(10000.0)[0] == pytest.approx(223.15, abs=1e-9)
    assert air_at(10000.0)[1] == pytest.approx(26436.25867877213, rel=BETWEEN_STANDARDS)


@pytest.mark.parametrize("height_m", BY_METRES)
def test_computed_rows_by_metres(height_m):
    t, p, rho, a, delta, sigma = BY_METRES[height_m]
    temperature, pressure, found, sound = air_at(float(height_m))
    assert temperature == pytest.approx(t, abs=1e-3)
    assert pressure == pytest.approx(p, rel=BETWEEN_STANDARDS)
    assert found == pytest.approx(rho, rel=BETWEEN_STANDARDS)
    assert sound == pytest.approx(a, abs=2e-3)
    assert pressure / SEA_LEVEL_PRESSURE_PA == pytest.approx(delta, rel=BETWEEN_STANDARDS)
    assert found / air_at(0.0)[2] == pytest.approx(sigma, rel=BETWEEN_STANDARDS)


@pytest.mark.parametrize("height_ft", BY_FEET)
def test_computed_rows_by_feet(height_ft):
    t, p, inhg, rho, a_kt, delta, sigma = BY_FEET[height_ft]
    temperature, pressure, found, sound = air_at(height_ft * M_PER_FT)
    assert temperature == pytest.approx(t, abs=1e-3)
    assert pressure == pytest.approx(p, rel=BETWEEN_STANDARDS)
    assert pressure / PA_PER_INHG == pytest.approx(inhg, abs=1e-4)
    assert found == pytest.approx(rho, rel=BETWEEN_STANDARDS)
    assert sound / MPS_PER_KT == pytest.approx(a_kt, abs=2e-3)
    assert pressure / SEA_LEVEL_PRESSURE_PA == pytest.approx(delta, abs=2e-6)
    assert found / air_at(0.0)[2] == pytest.approx(sigma, abs=2e-6)


@pytest.mark.parametrize("height_m", BY_GEOMETRIC_METRES)
def test_computed_rows_by_geometric_height(height_m):
    h, t, p, rho, a = BY_GEOMETRIC_METRES[height_m]
    # The first row needs its height to more figures than it prints: 0.005 m is 6e-7 of pressure.
    geopotential = 6356766.0 * height_m / (6356766.0 + height_m)
    assert geopotential == pytest.approx(h, abs=6e-3)
    temperature, pressure, found, sound = air_at(geopotential)
    assert temperature == pytest.approx(t, abs=1e-3)
    assert pressure == pytest.approx(p, rel=BETWEEN_STANDARDS)
    assert found == pytest.approx(rho, rel=BETWEEN_STANDARDS, abs=5e-7)
    assert sound == pytest.approx(a, abs=2e-3)


@pytest.mark.parametrize("height_ft", ALTIMETER_TEST)
def test_altimeter_test_pressures_recalled_from_memory(height_ft):
    inhg = pressure_from_altitude(height_ft * M_PER_FT) / PA_PER_INHG
    assert inhg == pytest.approx(ALTIMETER_TEST[height_ft], abs=6e-4)


def test_the_whole_range_agrees_with_two_general_libraries():
    # Both take geometric height; pressure altitude is geopotential.
    for h in np.linspace(-1500.0, 19990.0, 60):
        temperature, pressure, rho, sound = air_at(h)
        z = float(geometric(h))
        library = Atmosphere(z)
        assert temperature == pytest.approx(library.temperature[0], abs=1e-6)
        assert pressure == pytest.approx(library.pressure[0], rel=BETWEEN_STANDARDS)
        assert rho == pytest.approx(library.density[0], rel=BETWEEN_STANDARDS)
        assert sound == pytest.approx(library.speed_of_sound[0], abs=2e-3)
        if h >= 0.0:
            other = ATMOSPHERE_1976(z)
            assert temperature == pytest.approx(other.T, abs=1e-6)
            assert pressure == pytest.approx(other.P, rel=2 * BETWEEN_STANDARDS)
            assert rho == pytest.approx(other.rho, rel=2 * BETWEEN_STANDARDS)
            assert sound == pytest.approx(other.v_sonic, abs=2e-3)


def test_heights_are_geopotential_and_not_geometric():
    # Reading 10,000 m as geometric is 64 Pa off, 20 m of altitude.
    wrong = Atmosphere(10000.0).pressure[0]
    assert wrong - pressure_from_altitude(10000.0) == pytest.approx(63.6, abs=0.5)


def test_pressure_and_altitude_return_to_where_they_started():
    pressure = np.geomspace(5475.0, 127700.0, 4001)
    again = pressure_from_altitude(altitude_from_pressure(pressure))
    np.testing.assert_allclose(again, pressure, rtol=1e-12)
    # A double near 101325 Pa is itself only good to 1.2e-12 m of altitude, hence the floor.
    height = np.linspace(-2000.0, 20000.0, 44001)
    back = altitude_from_pressure(pressure_from_altitude(height))
    np.testing.assert_allclose(back, height, rtol=1e-12, atol=5e-12)
    assert altitude_from_pressure(SEA_LEVEL_PRESSURE_PA) == 0.0


def test_pressure_falls_and_air_thins_all_the_way_up_without_a_step():
    height = np.linspace(-2000.0, 20000.0, 44001)
    temperature, pressure, rho, sound = air_at(height)
    assert (np.diff(pressure) < 0.0).all()
    assert (np.diff(rho) < 0.0).all()
    assert (np.diff(temperature) <= 0.0).all()
    assert (np.diff(sound) <= 0.0).all()
    # dp/dh = -rho g at every height, also across the tropopause
    slope = np.diff(pressure) / np.diff(height)
    middle = -GRAVITY_MPS2 * (rho[1:] + rho[:-1]) / 2.0
    np.testing.assert_allclose(slope, middle, rtol=3e-7)


def test_arrays_keep_their_shape_and_scalars_agree_with_them():
    height = np.array([[0.0, 1500.0, 3000.0], [9000.0, 12000.0, 20000.0]])
    for function in (standard_temperature, pressure_from_altitude):
        many = function(height)
        assert many.shape == height.shape
        assert many.dtype == np.float64
        for index in np.ndindex(height.shape):
            assert float(function(float(height[index]))) == pytest.approx(many[index], rel=1e-15)
    assert altitude_from_pressure([101325.0, 50000.0]).shape == (2,)
    assert np.shape(altitude_from_pressure(50000.0)) == ()
    assert density(np.ones((2, 1)), np.full(3, 300.0)).shape == (2, 3)


def test_missing_values_pass_through():
    holes = np.array([np.nan, 1000.0])
    for function in (standard_temperature, pressure_from_altitude):
        assert np.isnan(function(holes)).tolist() == [True, False]
    assert np.isnan(altitude_from_pressure([np.nan, 9e4])).tolist() == [True, False]
    assert np.isnan(density([np.nan, 9e4], 280.0)).tolist() == [True, False]
    assert np.isnan(speed_of_sound([np.nan, 280.0])).tolist() == [True, False]


@pytest.mark.parametrize(
    ("function", "value", "words"),
    [
        (standard_temperature, 20001.0, ("altitude 20001 m", "-2000 to 20000 m")),
        (pressure_from_altitude, -2000.5, ("altitude -2000.5 m",)),
        (pressure_from_altitude, np.inf, ("altitude inf m",)),
        (altitude_from_pressure, 1013.25, ("static pressure 1013.25 Pa",)),
        (altitude_from_pressure, 0.0, ("static pressure 0 Pa",)),
        (speed_of_sound, 15.0, ("temperature 15 K", "100 to 400 K")),
    ],
)
def test_a_value_out_of_range_is_named(function, value, words):
    with pytest.raises(OutOfRangeError) as caught:
        function(np.array([np.nan, value]))
    assert all(word in caught.value.message for word in words)
    assert "\n" not in caught.value.message
    assert caught.value.hint


def test_the_first_of_several_values_out_of_range_is_the_one_named():
    with pytest.raises(OutOfRangeError, match=r"speed 7 m/s lies outside 0 to 5 m/s"):
        require_between([[1.0, 7.0], [9.0, 2.0]], 0.0, 5.0, "speed", "m/s")


def test_the_ends_of_a_range_belong_to_it():
    assert require_between([0.0, 5.0], 0.0, 5.0, "speed", "m/s").tolist() == [0.0, 5.0]
