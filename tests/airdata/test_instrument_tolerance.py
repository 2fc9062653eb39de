"""What an instrument that was never on a bench is taken to be wrong by."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.instrument_tolerance import (
    airspeed_tolerance,
    altimeter_tolerance,
    u_after_check,
    u_or_tolerance,
)
from fleetcal.units import M_PER_FT, MPS_PER_KT
from tests.airdata.budget_runs import ASSUMED, flown, terms_of


# SAE AS8002A, table 3, seen quoted in an installation manual.
@pytest.mark.parametrize(("airspeed_kt", "kt"), [(50, 5), (80, 3), (100, 2), (120, 2), (200, 2)])
def test_the_airspeed_tolerance_is_that_of_the_table(airspeed_kt: float, kt: float) -> None:
    found = airspeed_tolerance(airspeed_kt * MPS_PER_KT) / MPS_PER_KT
    assert found == pytest.approx(kt, rel=1e-12)


# 14 CFR part 43, appendix E, table I: 20 ft near sea level was seen quoted, the others are
# from memory.
@pytest.mark.parametrize(
    ("altitude_ft", "ft"),
    [(0, 20), (1000, 20), (2000, 30), (4000, 35), (8000, 60), (10000, 80), (20000, 130)],
)
def test_the_altimeter_tolerance_is_that_of_the_table(altitude_ft: float, ft: float) -> None:
    found = altimeter_tolerance(altitude_ft * M_PER_FT) / M_PER_FT
    assert found == pytest.approx(ft, rel=1e-12)


def test_a_tolerance_is_a_uniform_distribution_and_a_known_figure_overrides_it() -> None:
    # JCGM 100:2008, 4.3.7: half width over the root of three
    assert u_or_tolerance(np.nan, 3.0) == pytest.approx(3.0 / np.sqrt(3.0))
    assert u_or_tolerance(0.4, 3.0) == 0.4


def test_a_check_loses_a_third_of_the_tolerance_in_24_months_and_never_more_than_all() -> None:
    whole = 2.0 / np.sqrt(3.0)
    assert u_after_check(0.2, 2.0, 0.0) == 0.2
    assert u_after_check(0.2, 2.0, 24.0) == pytest.approx(np.hypot(0.2, whole / 3.0))
    assert u_after_check(0.2, 2.0, 2400.0) == pytest.approx(whole)
    assert u_after_check(5.0, 2.0, 24.0) == 5.0


def test_an_indicator_never_on_a_bench_makes_the_port_alone_unsure_by_its_tolerance() -> None:
    # the legs are flown near 80 kt, where 3 kt either way is 1.7 kt
    legs = flown()
    unchecked = replace(ASSUMED, u_airspeed_mps=np.nan)
    checked = replace(ASSUMED, u_airspeed_mps=0.3 * MPS_PER_KT)
    indicator = [
        terms_of(legs, assumptions=assumed)["airspeed indicator"]
        for assumed in (unchecked, checked)
    ]
    speed = legs.readings.airspeed_mps
    expected = float(np.mean(airspeed_tolerance(speed))) / np.sqrt(3.0) / (0.3 * MPS_PER_KT)
    assert indicator[0].u_kappa / indicator[1].u_kappa == pytest.approx(expected, rel=0.02)
