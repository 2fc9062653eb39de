from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.atmosphere import (
    SEA_LEVEL_DENSITY_KGM3,
    SEA_LEVEL_PRESSURE_PA,
    SEA_LEVEL_SOUND_SPEED_MPS,
    density,
    pressure_from_altitude,
    standard_temperature,
)
from fleetcal.airdata.pitot_static import (
    HIGHEST_MACH,
    airspeed_from_impact_pressure,
    calibrated_from_true,
    equivalent_airspeed,
    impact_pressure_from_airspeed,
    mach_from_pressure_ratio,
    pressure_ratio_from_mach,
    true_airspeed,
)
from fleetcal.errors import OutOfRangeError
from fleetcal.units import M_PER_FT, MPS_PER_KT, PA_PER_INHG

# One column of water at 20 degC as NASA RP-1046 takes it: p0 is 407.513 inches or 10350.8 mm.
# At 4 degC or 60 degF an "inch of water" is up to 0.2 % more.
PA_PER_INH2O = 101325.0 / 407.513
PA_PER_MMH2O = 101325.0 / 10350.8
PA_PER_PSF = 47.88025898

# Published, seen second-hand: NASA RP-1046 tables A19 and A27. kt: (inH2O, mmH2O)
RP1046 = {
    15: (0.15, 3.7), 20: (0.26, 6.6), 25: (0.41, 10.4), 30: (0.59, 14.9), 40: (1.04, 26.5),
    50: (1.63, 41.5), 60: (2.35, 59.7), 70: (3.20, 81.4), 80: (4.19, 106.4), 90: (5.31, 134.8),
}  # fmt: skip

# Computed from the defining equations.
# CAS kt: (qc Pa, lbf/ft2, inHg, inH2O at 20 degC, qc/(rho0 V^2 / 2))
IMPACT = {
    40: (259.597, 5.4218, 0.07666, 1.044, 1.000915),
    50: (405.829, 8.4759, 0.11984, 1.632, 1.001429),
    60: (584.761, 12.2130, 0.17268, 2.352, 1.002059),
    70: (796.516, 16.6356, 0.23521, 3.203, 1.002803),
    80: (1041.239, 21.7467, 0.30748, 4.188, 1.003662),
    90: (1319.098, 27.5499, 0.38953, 5.305, 1.004637),
    100: (1630.283, 34.0492, 0.48142, 6.557, 1.005727),
    110: (1975.008, 41.2489, 0.58322, 7.943, 1.006933),
    120: (2353.509, 49.1540, 0.69499, 9.465, 1.008255),
    130: (2766.045, 57.7701, 0.81681, 11.125, 1.009693),
    140: (3212.900, 67.1028, 0.94877, 12.922, 1.011249),
    150: (3694.379, 77.1587, 1.09095, 14.858, 1.012922),
    160: (4210.814, 87.9447, 1.24345, 16.935, 1.014712),
    180: (5349.988, 111.7368, 1.57985, 21.517, 1.018649),
    200: (6633.546, 138.5445, 1.95889, 26.679, 1.023064),
    220: (8065.009, 168.4412, 2.38160, 32.436, 1.027960),
    250: (10498.223, 219.2599, 3.10012, 42.222, 1.036222),
}

# Computed from the defining equations; another library agrees within its own rounding.
# (pressure altitude ft, CAS kt): (Mach, EAS kt, TAS kt, EAS - CAS kt)
AIRSPEEDS = {
    (2500, 80): (0.126557, 79.9861, 82.9923, -0.0139),
    (5000, 50): (0.082855, 49.9928, 53.8564, -0.0072),
    (5000, 100): (0.165639, 99.9428, 107.6666, -0.0572),
    (5000, 150): (0.248284, 149.8090, 161.3865, -0.1910),
    (5000, 250): (0.412915, 249.1440, 268.3983, -0.8560),
    (7500, 120): (0.208221, 119.8437, 134.1355, -0.1563),
    (10000, 80): (0.145719, 79.9340, 93.0170, -0.0660),
    (10000, 100): (0.182065, 99.8716, 116.2179, -0.1284),
    (10000, 120): (0.218356, 119.7791, 139.3837, -0.2209),
    (10000, 150): (0.272668, 149.5721, 174.0530, -0.4279),
    (10000, 200): (0.362780, 199.0033, 231.5748, -0.9967),
    (10000, 250): (0.452275, 248.0958, 288.7023, -1.9042),
    (15000, 150): (0.300403, 149.2765, 188.1846, -0.7235),
    (20000, 100): (0.222271, 99.6693, 136.5446, -0.3307),
    (20000, 200): (0.440378, 197.4718, 270.5318, -2.5282),
    (20000, 250): (0.546860, 245.2196, 335.9453, -4.7804),
}

EVERY_MACH = np.concatenate([[0.0], np.geomspace(1e-4, HIGHEST_MACH * (1 - 1e-12), 3000)])


def standard_airspeeds(height_m, calibrated_mps):
    """Mach number, EAS and TAS in m/s on a standard day."""
    pressure = pressure_from_altitude(height_m)
    mach = mach_from_pressure_ratio(impact_pressure_from_airspeed(calibrated_mps) / pressure)
    return (
        mach,
        equivalent_airspeed(mach, pressure),
        true_airspeed(mach, standard_temperature(height_m)),
    )


@pytest.mark.parametrize("speed_kt", RP1046)
def test_published_impact_pressures_in_columns_of_water(speed_kt):
    impact = impact_pressure_from_airspeed(speed_kt * MPS_PER_KT)
    inches, millimetres = RP1046[speed_kt]
    assert impact / PA_PER_INH2O == pytest.approx(inches, abs=6e-3)
    assert impact / PA_PER_MMH2O == pytest.approx(millimetres, abs=6e-2)


def test_the_sea_level_sound_speed_is_the_published_one():
    # Published, seen second-hand: a0 = 661.48 kt = 761.22 mph (NASA RP-1046).
    assert pytest.approx(661.48, abs=5e-3) == SEA_LEVEL_SOUND_SPEED_MPS / MPS_PER_KT
    assert pytest.approx(761.22, abs=6e-3) == SEA_LEVEL_SOUND_SPEED_MPS / 0.44704


@pytest.mark.parametrize("speed_kt", IMPACT)
def test_computed_impact_pressures(speed_kt):
    pascal, psf, inhg, inh2o, over_incompressible = IMPACT[speed_kt]
    speed = speed_kt * MPS_PER_KT
    impact = impact_pressure_from_airspeed(speed)
    assert impact == pytest.approx(pascal, rel=1e-5)
    assert impact / PA_PER_PSF == pytest.approx(psf, rel=1e-5)
    assert impact / PA_PER_INHG == pytest.approx(inhg, abs=6e-6)
    assert impact / PA_PER_INH2O == pytest.approx(inh2o, abs=6e-4)
    incompressible = 0.5 * SEA_LEVEL_DENSITY_KGM3 * speed**2
    assert impact / incompressible == pytest.approx(over_incompressible, abs=1e-6)


@pytest.mark.parametrize(("height_ft", "calibrated_kt"), AIRSPEEDS)
def test_computed_mach_equivalent_and_true_airspeeds(height_ft, calibrated_kt):
    mach, equivalent, true = standard_airspeeds(height_ft * M_PER_FT, calibrated_kt * MPS_PER_KT)
    m, eas, tas, less = AIRSPEEDS[height_ft, calibrated_kt]
    assert mach == pytest.approx(m, abs=2e-6)
    assert equivalent / MPS_PER_KT == pytest.approx(eas, abs=2e-3)
    assert true / MPS_PER_KT == pytest.approx(tas, abs=2e-3)
    assert equivalent / MPS_PER_KT - calibrated_kt == pytest.approx(less, abs=2e-3)


def test_published_true_airspeed_at_ten_kilometres():
    # Published: reference value in NASA open-source code (AerodynamicsTest), 290 kt CAS
    # at 10,000 m.
    true = standard_airspeeds(10000.0, 290.0 * MPS_PER_KT)[2]
    assert true / MPS_PER_KT == pytest.approx(472.0032987337459, abs=1e-3)


def test_compressibility_corrections_recalled_from_charts():
    # From memory (medium confidence): about -1 kt and about -5 kt on widely used charts.
    for height_ft, calibrated_kt, correction, reading in [
        (10000, 200, -1.0, 0.25),
        (20000, 250, -5.0, 0.5),
    ]:
        eas = standard_airspeeds(height_ft * M_PER_FT, calibrated_kt * MPS_PER_KT)[1]
        assert eas / MPS_PER_KT - calibrated_kt == pytest.approx(correction, abs=reading)


def test_calibrated_airspeed_is_true_airspeed_at_sea_level_on_a_standard_day():
    # Published: definition of calibrated airspeed, 14 CFR 1.1.
    speed = np.linspace(0.0, 300.0, 301)
    _, equivalent, true = standard_airspeeds(0.0, speed)
    np.testing.assert_allclose(true, speed, rtol=1e-12)
    np.testing.assert_allclose(equivalent, speed, rtol=1e-12)


def test_equivalent_airspeed_is_true_airspeed_times_the_root_of_the_density_ratio():
    height = np.linspace(0.0, 20000.0, 101)
    pressure, temperature = pressure_from_altitude(height), standard_temperature(height) + 17.0
    expected = true_airspeed(0.4, temperature) * np.sqrt(
        density(pressure, temperature) / density(SEA_LEVEL_PRESSURE_PA, 288.15)
    )
    np.testing.assert_allclose(equivalent_airspeed(0.4, pressure), expected, rtol=1e-12)


def test_slow_airspeeds_keep_full_precision():
    # Exact: for small V the series qc = rho0 V^2/2 (1 + M^2/4 + ...) ends after its second term.
    speed = np.array([1e-3, 0.1, 1.0])
    mach_squared = (speed / SEA_LEVEL_SOUND_SPEED_MPS) ** 2
    series = 0.7 * SEA_LEVEL_PRESSURE_PA * mach_squared * (1.0 + mach_squared / 4.0)
    np.testing.assert_allclose(impact_pressure_from_airspeed(speed), series, rtol=1e-11)


def test_mach_number_returns_from_its_pressure_ratio():
    again = mach_from_pressure_ratio(pressure_ratio_from_mach(EVERY_MACH))
    np.testing.assert_allclose(again, EVERY_MACH, rtol=1e-12)
    assert again[0] == 0.0


def test_airspeed_returns_from_its_impact_pressure():
    speed = EVERY_MACH * SEA_LEVEL_SOUND_SPEED_MPS
    again = airspeed_from_impact_pressure(impact_pressure_from_airspeed(speed))
    np.testing.assert_allclose(again, speed, rtol=1e-12)


def test_the_ends_of_the_scale_are_inside_it():
    assert mach_from_pressure_ratio(pressure_ratio_from_mach(HIGHEST_MACH)) == pytest.approx(0.9)
    top = HIGHEST_MACH * SEA_LEVEL_SOUND_SPEED_MPS
    assert airspeed_from_impact_pressure(impact_pressure_from_airspeed(top)) == pytest.approx(top)


@pytest.mark.parametrize("height_m", [0.0, 3000.0, 11000.0, 20000.0])
def test_calibrated_airspeed_returns_from_true_airspeed(height_m):
    pressure, temperature = pressure_from_altitude(height_m), standard_temperature(height_m) - 11.0
    mach = EVERY_MACH
    impact = pressure * pressure_ratio_from_mach(mach)
    calibrated = calibrated_from_true(true_airspeed(mach, temperature), pressure, temperature)
    np.testing.assert_allclose(calibrated, airspeed_from_impact_pressure(impact), rtol=1e-12)
    if height_m == 0.0:
        assert calibrated[-1] == pytest.approx(HIGHEST_MACH * SEA_LEVEL_SOUND_SPEED_MPS)


def test_every_relation_rises_with_its_argument():
    for function, top in [
        (pressure_ratio_from_mach, 0.9),
        (mach_from_pressure_ratio, 0.69),
        (impact_pressure_from_airspeed, 306.0),
        (airspeed_from_impact_pressure, 69000.0),
    ]:
        assert (np.diff(function(np.linspace(0.0, top, 5001))) > 0.0).all()


def test_arrays_keep_their_shape_and_scalars_agree_with_them():
    speed = np.array([[10.0, 50.0], [100.0, 200.0]])
    impact = impact_pressure_from_airspeed(speed)
    assert impact.shape == (2, 2)
    for index in np.ndindex(2, 2):
        alone = float(impact_pressure_from_airspeed(float(speed[index])))
        assert alone == pytest.approx(impact[index], rel=1e-15)
    assert np.shape(airspeed_from_impact_pressure(1000.0)) == ()
    assert true_airspeed(np.full((2, 1), 0.3), [280.0, 290.0, 300.0]).shape == (2, 3)
    assert equivalent_airspeed(0.3, [9e4, 8e4]).shape == (2,)
    assert calibrated_from_true([[60.0], [70.0]], 9e4, [280.0, 285.0]).shape == (2, 2)


def test_missing_values_pass_through():
    holes = np.array([np.nan, 0.3])
    for found in (
        pressure_ratio_from_mach(holes),
        mach_from_pressure_ratio(holes),
        impact_pressure_from_airspeed(holes),
        airspeed_from_impact_pressure(holes),
        true_airspeed(holes, 280.0),
        equivalent_airspeed(holes, 9e4),
        calibrated_from_true(holes, 9e4, 280.0),
        calibrated_from_true(60.0, [np.nan, 9e4], 280.0),
        calibrated_from_true(60.0, 9e4, [np.nan, 280.0]),
    ):
        assert np.isnan(found).tolist() == [True, False]


@pytest.mark.parametrize(
    ("function", "value", "words"),
    [
        (pressure_ratio_from_mach, 0.95, ("Mach number 0.95", "0 to 0.9")),
        (pressure_ratio_from_mach, -0.1, ("Mach number -0.1",)),
        (mach_from_pressure_ratio, 0.75, ("qc/ps 0.75",)),
        (impact_pressure_from_airspeed, -1.5, ("airspeed -1.5 m/s",)),
        (impact_pressure_from_airspeed, 310.0, ("airspeed 310 m/s", "0 to 306.265 m/s")),
        (airspeed_from_impact_pressure, -20.0, ("impact pressure -20 Pa",)),
        (airspeed_from_impact_pressure, 90000.0, ("impact pressure 90000 Pa",)),
    ],
)
def test_a_value_out_of_range_is_named(function, value, words):
    with pytest.raises(OutOfRangeError) as caught:
        function([np.nan, 0.0, value])
    assert all(word in caught.value.message for word in words)
    assert "  " not in caught.value.message
    assert caught.value.message == caught.value.message.strip()


def test_a_true_airspeed_beyond_the_relations_is_refused():
    with pytest.raises(OutOfRangeError, match=r"Mach number 0\.9\d"):
        calibrated_from_true(320.0, 9e4, 288.15)
    with pytest.raises(OutOfRangeError, match="temperature 15 K"):
        calibrated_from_true(60.0, 9e4, 15.0)
