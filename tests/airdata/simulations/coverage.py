"""How often the stated 95 % interval of dVpc holds the truth, through the whole reduction.

Every error that the budget supposes is drawn from its supposed distribution;
only the gusts differ between smooth and rough air.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.budget import Assumptions
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.services.flights.run_to_line import run_to_line
from fleetcal.services.flights.solve_manoeuvre import FlownManoeuvre, solve_flown_manoeuvre
from fleetcal.services.flights.solve_run import solve_run
from fleetcal.services.flights.sortie_wind import sortie_wind
from fleetcal.units import MPS_PER_KT as KT
from tests.airdata.simulations.flown import (
    ALTITUDE_M,
    KAPPA,
    RECOVERY,
    STEPS,
    TEMPERATURE_K,
    Air,
    Faults,
    fly,
    leg_times,
    recorded,
    remembering,
)

SMOOTH, ROUGH = Air(gust_kt=0.2), Air(gust_kt=1.2)


@dataclass(frozen=True)
class Coverage:
    """Share of intervals that hold the truth, with its Monte Carlo error, and sizes in knots."""

    inside: float
    monte_carlo: float
    rms_error_kt: float
    mean_u_kt: float


def legs(rng: np.random.Generator, runs: int, count: int, air: Air, leg_s: int = 60) -> Coverage:
    """Reduce runs of legs evenly round the compass."""
    return _coverage([_run_of_legs(rng, count, air, leg_s) for _ in range(runs)])


def turns(rng: np.random.Generator, runs: int, seconds: int, air: Air) -> Coverage:
    """Reduce standard-rate turns."""
    return _coverage([_turn(rng, seconds, air) for _ in range(runs)])


def _run_of_legs(rng: np.random.Generator, count: int, air: Air, leg_s: int) -> RunLine:
    supposed = Assumptions()
    faults = Faults.draw(rng, supposed)
    time_s = leg_times(count, leg_s, 35)
    heading = np.repeat(np.arange(count) * 2.0 * np.pi / count, leg_s)
    flown = fly(rng, 1, time_s, heading, air)
    of_leg = rng.normal(0.0, supposed.u_wind_mps, (2, count))
    of_leg += rng.normal(0.0, supposed.u_ground_speed_mps, (2, count))
    extra = np.repeat(of_leg, leg_s, axis=1) + faults.drift_mps2[:, None] * time_s
    east, north = recorded(flown.east_mps[0] + extra[0], flown.north_mps[0] + extra[1])
    airspeed = _logged(flown.indicated_mps[0] + faults.airspeed_mps)
    parts = [slice(i * leg_s, (i + 1) * leg_s) for i in range(count)]
    flown_legs = [
        FlownLeg(
            time_s[part][0],
            time_s[part][-1],
            time_s[part],
            airspeed[part],
            np.full(leg_s, ALTITUDE_M + faults.altitude_m),
            np.full(leg_s, TEMPERATURE_K + faults.temperature_k),
            east[part],
            north[part],
            RECOVERY + faults.recovery,
        )
        for part in parts
    ]
    run = solve_run(1, flown_legs, STEPS).solution
    assert run is not None
    return run_to_line(run, sortie_wind([run], supposed), supposed)


def _turn(rng: np.random.Generator, seconds: int, air: Air) -> RunLine:
    supposed = Assumptions()
    faults = Faults.draw(rng, supposed)
    time_s = np.arange(float(seconds))
    flown = fly(rng, 1, time_s, np.radians(3.0 * time_s), air)
    extra = remembering(rng, (2, seconds), supposed.u_ground_speed_mps, 30.0)
    extra += faults.drift_mps2[:, None] * time_s
    east, north = recorded(flown.east_mps[0] + extra[0], flown.north_mps[0] + extra[1])
    manoeuvre = FlownManoeuvre(
        time_s,
        _logged(flown.indicated_mps[0] + faults.airspeed_mps),
        np.full(seconds, ALTITUDE_M + faults.altitude_m),
        np.full(seconds, TEMPERATURE_K + faults.temperature_k),
        east,
        north,
        RECOVERY + faults.recovery,
    )
    line = solve_flown_manoeuvre(1, manoeuvre, STEPS, supposed).line
    assert line is not None
    return line


def _logged(airspeed_mps: Array) -> Array:
    return np.asarray(np.round(airspeed_mps / KT, 1) * KT)


def _coverage(lines: list[RunLine]) -> Coverage:
    error = np.array([line.kappa - KAPPA for line in lines])
    u = np.array([line.u_kappa for line in lines])
    factor = stats.t.ppf(0.975, [line.degrees_of_freedom for line in lines])
    inside = float(np.mean(np.abs(error) <= factor * u))
    per_kappa = np.mean([line.u_dvpc_kt / line.u_kappa for line in lines])
    return Coverage(
        inside,
        float(np.sqrt(inside * (1.0 - inside) / len(lines))),
        float(np.sqrt(np.mean(error**2)) * per_kappa),
        float(np.mean(u) * per_kappa),
    )
