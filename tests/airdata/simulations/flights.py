"""Simulated flights as the services take them, with the truth.

``box_flights(CONDITIONS["gusts 1 m/s"], flights=80, seed=1)`` gives 80 flights of
three runs, 105, 88 and 71 kt, four legs (or three) each; ``circle_flights`` gives
flights of three manoeuvres of two full circles. A `SimulatedFlight` holds

- ``flight``: the services' own `Flight`, ready for `solve_flight`; its
  ``runs[i].legs`` are `FlownLeg` for `solve_run`, its ``manoeuvres[i]`` are for
  `solve_flight`;
- ``kappa``: the true error of the port, one a run or manoeuvre;
- ``wind_mps``: the true mean wind, east and north, of each run.

Legs are cut where the pilot meant them, settled after the turn, so no leg is
refused for roughness. With ``faults`` the errors that a budget supposes are drawn
once a flight and last over its runs; without, the same flights are recorded by
instruments that are right, apart from the lags of the condition.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.budget import Assumptions
from fleetcal.services.flights.air_taken import (
    SETTINGS,
    AirTaken,
    TemperatureTaken,
    humidity_unknown,
)
from fleetcal.services.flights.cut_legs import Recorded
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.read_flight import Flight, GroupedLegs
from fleetcal.services.flights.turns_flown import turns_between
from seed_demo.air import Array
from tests.airdata.simulations.air import Air, draw_air
from tests.airdata.simulations.conditions import Condition
from tests.airdata.simulations.ordinary import OrdinaryLog
from tests.airdata.simulations.plans import Plan, box_plan, circle_plan
from tests.airdata.simulations.point_mass import Motion, fly
from tests.airdata.simulations.recorder import (
    EVERY,
    HUMIDITY,
    RECOVERY,
    STEPS,
    Faults,
    Log,
    record,
)

AIRSPEEDS_KT = (105.0, 88.0, 71.0)
AIR = AirTaken(
    TemperatureTaken(RECOVERY, Assumptions().u_recovery_factor, SETTINGS),
    humidity_unknown(0.2, 0.9),
)


@dataclass(frozen=True)
class SimulatedFlight:
    """A flight for the services, the true kappa (runs,) and mean wind (2, runs), m/s."""

    flight: Flight
    kappa: Array
    wind_mps: Array


def box_flights(
    condition: Condition,
    flights: int,
    seed: int,
    *,
    faults: bool = True,
    airspeeds_kt: tuple[float, ...] = AIRSPEEDS_KT,
) -> list[SimulatedFlight]:
    """Simulate flights of one run of legs at each airspeed.

    Args:
        faults: Whether the instruments have errors that last over a flight.
        airspeeds_kt: Indicated, one a run.
    """
    plan = box_plan(airspeeds_kt, condition.tracks_deg, alternating=condition.alternating)
    return _simulated(condition, plan, flights, seed, faults, cut_into_runs)


def card_flights(air: Air, plan: Plan, flights: int, seed: int) -> list[SimulatedFlight]:
    """Simulate flights of a card of legs, by instruments that are right."""
    return _simulated(Condition(air=air), plan, flights, seed, False, cut_into_runs)


def circle_flights(
    condition: Condition,
    flights: int,
    seed: int,
    *,
    faults: bool = True,
    airspeeds_kt: tuple[float, ...] = AIRSPEEDS_KT,
    circles: float = 2.0,
) -> list[SimulatedFlight]:
    """Simulate flights of full circles at standard rate, one manoeuvre at each airspeed.

    Args:
        faults: Whether the instruments have errors that last over a flight.
        airspeeds_kt: Indicated, one a manoeuvre.
        circles: Of each manoeuvre.
    """
    plan = circle_plan(airspeeds_kt, circles)
    return _simulated(condition, plan, flights, seed, faults, _with_manoeuvres)


def _simulated(
    condition: Condition,
    plan: Plan,
    flights: int,
    seed: int,
    faults: bool,
    cut: Callable[[Log, int, int], Flight],
) -> list[SimulatedFlight]:
    motion, log = flown(condition, plan, flights, seed, faults)
    return [
        SimulatedFlight(cut(log, row, plan.runs), *_truth(motion, log, row, plan.runs))
        for row in range(flights)
    ]


def flown(
    condition: Condition, plan: Plan, flights: int, seed: int, faults: bool
) -> tuple[Motion, Log]:
    """Return true motion and log of flights.

    Air, pilot and instruments have random numbers of their own: one seed flies the same
    headings in another air, and the same motion with faults and without.
    """
    of_air, of_pilot, of_faults, of_noise = np.random.default_rng(seed).spawn(4)
    air = draw_air(of_air, condition.air, flights, len(plan.heading_rad))
    motion = fly(of_pilot, plan, air, condition.pilot)
    drawn = Faults.drawn(of_faults, flights, Assumptions())
    errors = drawn if faults else Faults.none(flights)
    return motion, record(of_noise, plan, motion, condition.instruments, errors)


def _truth(motion: Motion, log: Log, row: int, runs: int) -> tuple[Array, Array]:
    kappa, wind = np.empty(runs), np.empty((2, runs))
    for run in range(runs):
        inside = log.run == run
        kappa[run] = log.kappa[row, inside].mean()
        wind[0, run] = motion.wind_east_mps[row, ::EVERY][inside].mean()
        wind[1, run] = motion.wind_north_mps[row, ::EVERY][inside].mean()
    return kappa, wind


def cut_into_runs(log: Log, row: int, runs: int) -> Flight:
    """Return a flight of a log with its legs, as the services take it."""
    planned = []
    recorded = _recorded(
        log.time_s,
        log.airspeed_mps[row],
        altitude_m=log.altitude_m[row],
        temperature_k=log.temperature_k[row],
        ground=(log.east_mps[row], log.north_mps[row]),
    )
    for run in range(runs):
        legs = range(int(log.leg[log.run == run].max()) + 1)
        flown_legs = tuple(_leg(log, row, (log.run == run) & (log.leg == leg)) for leg in legs)
        turns = turns_between(recorded, flown_legs)
        planned.append(GroupedLegs(legs=flown_legs, refusal="", flap_setting=None, turns=turns))
    return _flight(runs=tuple(planned), leg_count=sum(len(run.legs) for run in planned))


def _with_manoeuvres(log: Log, row: int, runs: int) -> Flight:
    return _flight(manoeuvres=tuple(_leg(log, row, log.run == run) for run in range(runs)))


def recorded_log(log: OrdinaryLog) -> Recorded:
    """Return the log of an ordinary flight as the services take it."""
    return _recorded(
        log.time_s,
        log.airspeed_mps,
        altitude_m=log.altitude_m,
        temperature_k=log.temperature_k,
        ground=(log.east_mps, log.north_mps),
    )


def _recorded(
    time_s: Array,
    airspeed_mps: Array,
    altitude_m: Array,
    temperature_k: Array,
    ground: tuple[Array, Array],
) -> Recorded:
    east, north = ground
    return Recorded(
        source_name="simulated flight",
        t_s=time_s,
        airspeed_mps=airspeed_mps,
        altitude_m=altitude_m,
        temperature_k=temperature_k,
        ground_speed_mps=np.hypot(east, north),
        track_rad=np.arctan2(east, north),
        relative_humidity=np.full_like(time_s, HUMIDITY),
        taken=AIR,
    )


def _leg(log: Log, row: int, inside: Array) -> FlownLeg:
    time_s = log.time_s[inside]
    return FlownLeg(
        start_s=float(time_s[0]),
        stop_s=float(time_s[-1]),
        time_s=time_s,
        airspeed_mps=log.airspeed_mps[row, inside],
        altitude_m=log.altitude_m[row, inside],
        temperature_k=log.temperature_k[row, inside],
        east_mps=log.east_mps[row, inside],
        north_mps=log.north_mps[row, inside],
        recovery_factor=RECOVERY,
        relative_humidity=np.full_like(time_s, HUMIDITY),
    )


def _flight(
    runs: tuple[GroupedLegs, ...] = (),
    manoeuvres: tuple[FlownLeg, ...] = (),
    leg_count: int = 0,
) -> Flight:
    return Flight(
        source_name="simulated flight",
        sha256="",
        kind="log",
        flown_on=None,
        track_reference="true",
        airspeed_from="indicated airspeed",
        leg_count=leg_count,
        runs=runs,
        manoeuvres=manoeuvres,
        airspeeds=(),
        steps=STEPS,
        warnings=(),
        air=AIR,
    )
