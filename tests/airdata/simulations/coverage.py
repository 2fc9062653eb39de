"""How often the stated 95 % interval of dVpc holds the truth, through the whole reduction.

Runs of legs, three to a flight or one, and single turns, with the errors that the budget
supposes: those of the instruments drawn once a flight, a wind that wanders from leg to leg and
ramps; only the gusts differ between smooth and rough air.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.budget import Assumptions
from fleetcal.services.flights.flight_weight import FlightWeight
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.solve_flight import solve_flight
from tests.airdata.simulations.air import Air
from tests.airdata.simulations.conditions import Condition
from tests.airdata.simulations.flights import SimulatedFlight, box_flights, circle_flights
from tests.airdata.simulations.recorder import Instruments

SMOOTH = Air(gust_mps=0.1, ramp_kt_in_ten_minutes=1.0, quick_kt=0.3)
ROUGH = Air(gust_mps=0.6, ramp_kt_in_ten_minutes=1.0, quick_kt=0.3)
RECEIVER = Instruments(gps_mps=0.05)
AT_ONCE = 250


@dataclass(frozen=True)
class Coverage:
    """Share of intervals that hold the truth, with its Monte Carlo error, and sizes in knots."""

    inside: float
    monte_carlo: float
    rms_error_kt: float
    mean_u_kt: float


def legs(seed: int, flights: int, count: int, air: Air, together: int = 3) -> Coverage:
    """Reduce flights of so many runs together, of legs evenly round the compass."""
    tracks = tuple(360.0 * leg / count for leg in range(count))
    condition = Condition(air=air, instruments=RECEIVER, tracks_deg=tracks)
    return _coverage("legs", _in_parts(box_flights, condition, flights, seed, together))


def turns(seed: int, runs: int, circles: float, air: Air) -> Coverage:
    """Reduce circles at standard rate."""
    condition = Condition(air=air, instruments=RECEIVER)
    return _coverage("manoeuvres", _in_parts(circle_flights, condition, runs, seed, 1, circles))


def _in_parts(
    fly: Callable[..., list[SimulatedFlight]],
    condition: Condition,
    total: int,
    seed: int,
    together: int,
    circles: float | None = None,
) -> Iterator[SimulatedFlight]:
    more = {} if circles is None else {"circles": circles}
    speeds = (95.0,) * together
    for part, begin in enumerate(range(0, total, AT_ONCE)):
        flights = min(AT_ONCE, total - begin)
        yield from fly(condition, flights, 1000 * seed + part, airspeeds_kt=speeds, **more)


def _coverage(solve_by: str, flown: Iterable[SimulatedFlight]) -> Coverage:
    weight = FlightWeight(start_kg=None, time_s=np.empty(0), used_kg=np.empty(0))
    details = FlightDetails(airframe=None, solve_by=solve_by)
    error, u, inside, flights = [], [], [], 0
    for one in flown:
        flights += 1
        for line in solve_flight(one.flight, details, Assumptions(), weight).result.runs:
            off = line.kappa - one.kappa[line.run - 1]
            error.append(off * line.u_dvpc_kt / line.u_kappa)
            u.append(line.u_dvpc_kt)
            inside.append(abs(error[-1]) <= line.U95_dvpc_kt)
    share = float(np.mean(inside))
    return Coverage(
        share,
        float(np.sqrt(share * (1.0 - share) / flights)),  # the runs of a flight err alike
        float(np.sqrt(np.mean(np.square(error)))),
        float(np.mean(u)),
    )
