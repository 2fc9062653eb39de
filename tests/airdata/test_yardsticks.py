from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.yardsticks import (
    LEAK_LIMIT_M,
    largest_airspeed_error,
    largest_altitude_error,
    sea_level_altitude_error,
)

KT, FT = 1852.0 / 3600.0, 0.3048


@pytest.mark.parametrize(
    ("cas_kt", "limit_kt"), [(60.0, 5.0), (100.0, 5.0), (500.0 / 3.0, 5.0), (200.0, 6.0)]
)
def test_three_percent_or_five_knots_the_greater(cas_kt: float, limit_kt: float) -> None:
    # 14 CFR 23.1323(b), text before 2017
    assert largest_airspeed_error(cas_kt * KT) / KT == pytest.approx(limit_kt, rel=1e-12)


@pytest.mark.parametrize(
    ("speed_kt", "limit_ft"),
    [(60.0, 30.0), (100.0, 30.0), (120.0, 36.0), (150.0, 45.0), (200.0, 60.0)],
)
def test_thirty_feet_for_each_hundred_knots_at_least_thirty(
    speed_kt: float, limit_ft: float
) -> None:
    # 14 CFR 23.1325(e), text before 2017, the lower bound from memory
    assert largest_altitude_error(speed_kt * KT) / FT == pytest.approx(limit_ft, rel=1e-12)


def test_a_hundred_feet_in_a_minute_is_the_leak_limit() -> None:
    assert pytest.approx(100.0) == LEAK_LIMIT_M / FT


# The airspeed error that makes the altimeter reach its limit at sea level, if all of it
# is static: computed from the defining equations (first order).
@pytest.mark.parametrize(
    ("speed_kt", "error_kt"),
    [(60.0, 5.62), (80.0, 4.20), (100.0, 3.35), (120.0, 3.33), (150.0, 3.30), (200.0, 3.24)],
)
def test_the_altitude_limit_as_an_airspeed_error(speed_kt: float, error_kt: float) -> None:
    speed = np.array([speed_kt]) * KT
    per_knot = sea_level_altitude_error(speed, speed + 0.01 * KT) / 0.01
    limit = largest_altitude_error(speed)
    assert limit / per_knot == pytest.approx(error_kt, abs=0.006)


def test_an_airspeed_read_too_low_goes_with_an_altitude_read_too_low() -> None:
    assert sea_level_altitude_error(98.0 * KT, 100.0 * KT) > 0.0
    assert sea_level_altitude_error(100.0 * KT, 100.0 * KT) == 0.0
