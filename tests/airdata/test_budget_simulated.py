"""The budget's u(kappa) against what simulated flights really scatter by."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import t as student

from fleetcal.airdata.budget import Assumptions
from fleetcal.units import M_PER_FT, MPS_PER_KT
from tests.airdata.run_simulator import Case, fly

WHOLE_NUMBERS = {
    "airspeed": MPS_PER_KT,
    "altitude": 10.0 * M_PER_FT,
    "temperature": 1.0,
    "ground_speed": MPS_PER_KT,
    "track": np.radians(1.0),
}
CASES = {
    "three legs": Case(legs=3),
    "four legs": Case(legs=4),
    "six legs": Case(legs=6),
    "a strong wind": Case(legs=4, wind_mps=26.0),
    "high and fast": Case(
        legs=4, airspeed_mps=62.0, altitude_m=6500.0, temperature_k=252.0, kappa=-0.08
    ),
    "slow, with much error": Case(legs=4, airspeed_mps=31.0, kappa=0.16, wind_mps=7.0),
    "three legs in a half circle": Case(legs=3, heading_deg=(0.0, 90.0, 180.0), wind_mps=5.0),
    "whole numbers": Case(legs=3, hold_mps=1.0, steps=WHOLE_NUMBERS),
    "large shared terms": Case(
        legs=4,
        assumptions=Assumptions(
            u_temperature_k=3.0, u_recovery_factor=0.2, u_airspeed_mps=0.8, u_altitude_m=25.0
        ),
    ),
    "a wind that drifts": Case(
        legs=4, leg_every_s=150.0, assumptions=Assumptions(u_wind_drift_mps2=2.5e-3)
    ),
}


def stated_over_found(case, flights, seed):
    """Stated u(kappa), in quadratic mean over flights, over the scatter of kappa; share inside."""
    flown = fly(case, flights, seed)
    error, u, freedom = np.array([flown.reduced(row) for row in range(flights)]).T
    inside = np.abs(error) <= student.ppf(0.975, freedom) * u
    return np.sqrt(np.mean(u**2) / np.mean(error**2)), inside.mean()


# Runs of single readings by themselves state too much: the scatter is hardly known, so that its
# mean square is up to three times the likeliest, and the wind wanders less here than it may.
MOST = {
    "large shared terms": 1.35,
    "six legs": 1.8,
    "high and fast": 1.9,
    "three legs in a half circle": 2.6,
    "a wind that drifts": 2.6,
}


# 60 flights: Monte Carlo error of the scatter 9 %, of a share of 95 % 2.8 points
@pytest.mark.long
@pytest.mark.parametrize("name", ["three legs", "large shared terms"])
def test_stated_uncertainty_is_not_below_what_simulated_flights_scatter_by(name):
    ratio, inside = stated_over_found(CASES[name], 60, seed=20260)
    assert 1.0 - 2.0 * 0.09 < ratio < 1.18 * MOST.get(name, 2.1)
    assert inside > 0.95 - 2.0 * 0.028


@pytest.mark.long
@pytest.mark.parametrize("name", CASES)
def test_stated_intervals_hold_the_truth_as_often_as_they_say(name):
    # 250 flights: Monte Carlo error of the scatter 4.5 %, of a share of 95 % 1.4 points; of
    # shared terms three quarters of what is right would be found, where others state more, less
    ratio, inside = stated_over_found(CASES[name], 250, seed=4711)
    assert 1.0 - 2.0 * 0.045 < ratio < 1.09 * MOST.get(name, 2.1)
    assert inside > 0.95 - 2.0 * 0.014
