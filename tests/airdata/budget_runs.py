"""Runs of single readings without noise and what the budget says of them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fleetcal.airdata.budget import Assumptions, group_budget
from fleetcal.airdata.flight_pieces import cut
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.solve_pieces import solve_pieces
from fleetcal.airdata.wind_strengths import AirPrior
from fleetcal.units import M_PER_FT, MPS_PER_KT
from tests.airdata.run_maker import alike, evenly, made_run
from tests.airdata.solved_legs import leg_stretches

ASSUMED = Assumptions(
    u_temperature_k=0.7,
    u_recovery_factor=0.08,
    u_airspeed_mps=0.2,
    u_altitude_m=9.0,
    u_ground_speed_mps=0.07,
    u_wind_drift_mps2=7e-4,
)
STEPS = {
    "airspeed": MPS_PER_KT,
    "altitude": 10.0 * M_PER_FT,
    "temperature": 1.0,
    "ground_speed": MPS_PER_KT,
    "track": np.radians(1.0),
}
#: Few combinations: what a solve answers to a change it answers with these as well.
FEW = AirPrior(noise=(0.5, 1.0, 2.0), wander_kt=(0.5, 2.0, 8.0), drift_times=(1.0,))


@dataclass(frozen=True, kw_only=True)
class FlownLegs:
    """Legs of one run, each read once; arrays of shape (legs,)."""

    east_mps: np.ndarray
    north_mps: np.ndarray
    readings: Readings
    middle_s: np.ndarray


def flown(count=4, wind_mps=11.0, kappa=0.06, hold_mps=0.8, airspeed_mps=50.0, begin_s=0.0):
    """A run without noise, each leg at its own airspeed."""
    held = np.random.default_rng(count).normal(0.0, hold_mps, count)
    readings = alike(count, airspeed_mps=airspeed_mps, altitude_m=1500.0)
    readings = replace(readings, airspeed_mps=readings.airspeed_mps + held)
    made = made_run(evenly(count, 0.4), readings, kappa, wind_mps, 2.0)
    middle = np.array([0.0, 80.0, 210.0, 300.0, 380.0, 505.0, 600.0, 690.0])[:count]
    return FlownLegs(
        east_mps=made.east_mps,
        north_mps=made.north_mps,
        readings=made.readings,
        middle_s=middle + begin_s,
    )


def solved(*runs, assumptions=ASSUMED, prior=FEW):
    """The runs of one flight under one moving wind."""
    stretches = [
        one
        for group, legs in enumerate(runs)
        for one in leg_stretches(legs.east_mps, legs.north_mps, legs.readings, group, legs.middle_s)
    ]
    return solve_pieces(
        cut(stretches),
        prior,
        assumptions.u_ground_speed_mps,
        assumptions.leg_scatter_mps,
    )


def budget(*runs, group=0, assumptions=ASSUMED, steps=STEPS, prior=FEW):
    """Every term of one run of a flight."""
    found = solved(*runs, assumptions=assumptions, prior=prior)
    return group_budget(found, group, steps, assumptions)


def terms_of(*runs, **given):
    return {term.name: term for term in budget(*runs, **given)}


def in_squares(effects):
    return float(np.sqrt(np.sum(np.square(effects))))
