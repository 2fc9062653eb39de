"""Runs without noise and what the budget says of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from fleetcal.airdata.leg_solution import solve_legs
from fleetcal.airdata.sortie_air import AirPrior
from fleetcal.airdata.weigh_air import weigh_air

from fleetcal.airdata.budget import Assumptions, LegData, run_air, run_budget
from fleetcal.units import M_PER_FT, MPS_PER_KT
from tests.airdata.run_maker import alike, evenly, made_run

ASSUMED = Assumptions(
    u_temperature_k=0.7,
    u_recovery_factor=0.08,
    u_airspeed_mps=0.2,
    u_altitude_m=9.0,
    u_ground_speed_mps=0.07,
    u_wind_mps=0.2,
    u_wind_drift_mps2=7e-4,
)
STEPS = {
    "airspeed": MPS_PER_KT,
    "altitude": 10.0 * M_PER_FT,
    "temperature": 1.0,
    "ground_speed": MPS_PER_KT,
    "track": np.radians(1.0),
}


def flown(count=4, wind_mps=11.0, kappa=0.06, hold_mps=0.8):
    """A run without noise, each leg at its own airspeed, and what the budget needs of it."""
    held = np.random.default_rng(count).normal(0.0, hold_mps, count)
    readings = alike(count, airspeed_mps=50.0, altitude_m=1500.0)
    readings = replace(readings, airspeed_mps=readings.airspeed_mps + held)
    made = made_run(evenly(count, 0.4), readings, kappa, wind_mps, 2.0)
    return LegData(
        east_mps=made.east_mps,
        north_mps=made.north_mps,
        readings=made.readings,
        middle_s=np.array([0.0, 80.0, 210.0, 300.0, 380.0, 505.0, 600.0, 690.0])[:count],
        u_mean_mps=np.linspace(0.05, 0.2, count),
        movement={},
        steps=STEPS,
    )


def solved(legs):
    return solve_legs(legs.east_mps, legs.north_mps, legs.readings)


def air_as_supposed(legs, solution, row, assumptions):
    """A sortie of this one run: leg scatter is learnt from it, the drift is as supposed."""
    run = run_air(legs, solution, row, assumptions)
    still = AirPrior(wander_kt=(0.0,), drift_times=(1.0,))
    air = weigh_air([run], assumptions.prior_weight, 0.0, still)
    return replace(air, drift_square=np.eye(2) * assumptions.u_wind_drift_mps2**2)


def budget_as_supposed(legs, solution, row, assumptions):
    air = air_as_supposed(legs, solution, row, assumptions)
    return run_budget(legs, solution, row, assumptions, air)


def drift_of(legs, assumptions=ASSUMED):
    """Both terms of the drift, in squares."""
    terms = terms_of(legs, assumptions)
    return in_squares([terms["wind drift east"].u_kappa, terms["wind drift north"].u_kappa])


def terms_of(legs, assumptions=ASSUMED):
    return {t.name: t for t in budget_as_supposed(legs, solved(legs), 0, assumptions)}


def in_squares(effects):
    return float(np.sqrt(np.sum(np.square(effects))))
