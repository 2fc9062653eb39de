from __future__ import annotations

import numpy as np
import pytest

from fleetcal.flightlog.altimeter import pressure_altitude_from_setting
from fleetcal.flightlog.resolution import smallest_step

KT = 1852.0 / 3600.0


@pytest.mark.parametrize(
    ("step", "unit", "expected"),
    [
        (1.0, "kt", KT),
        (0.1, "kt", 0.1 * KT),
        (10.0, "ft", 3.048),
        (0.5, "degC", 0.5),
        (1.0, "deg", np.pi / 180),
        (0.01, "inHg", 33.86388640341),
        (5.0, "deg", np.pi / 36),
    ],
)
def test_the_step_of_rounded_values_is_found(step, unit, expected):
    rng = np.random.default_rng(2)
    values = np.round(rng.normal(80.0, 30.0 * step, 4000) / step) * step
    assert smallest_step(values, unit, "80") == pytest.approx(expected, rel=1e-3)


def test_a_step_is_found_behind_a_conversion_to_other_units():
    rng = np.random.default_rng(3)
    knots = np.round(rng.normal(90.0, 12.0, 3000))
    single = (knots * KT).astype(np.float32).astype(float)
    assert smallest_step(single, "m/s", "46.3") == pytest.approx(KT, rel=1e-3)
    feet = np.round(rng.normal(5000.0, 40.0, 3000))
    assert smallest_step(np.round(feet * 0.3048, 3), "m", "1524.0") == pytest.approx(
        0.3048, rel=0.02
    )


def test_values_without_a_step_have_none():
    values = np.random.default_rng(4).normal(90.0, 5.0, 3000)
    assert smallest_step(values, "kt", "90.123456") == 0.0


def test_a_constant_column_has_the_step_of_its_last_decimal():
    assert smallest_step(np.full(50, 12.5), "degC", "12.5") == pytest.approx(0.1)
    assert smallest_step(np.full(50, np.nan), "degC", "") == 0.0


def test_the_altimeter_setting_moves_the_altitude_by_the_standard_atmosphere():
    # with the standard pressure set the altimeter shows pressure altitude
    same = pressure_altitude_from_setting(np.array([1000.0]), np.array([101325.0]))
    assert same[0] == pytest.approx(1000.0)
    # ISO 2533:1975 table: pressure 89874.6 Pa at 1000 m geopotential altitude; an altimeter
    # set to that pressure shows zero there
    at_1000 = pressure_altitude_from_setting(np.array([0.0]), np.array([89874.6]))
    assert at_1000[0] == pytest.approx(1000.0, abs=0.02)
