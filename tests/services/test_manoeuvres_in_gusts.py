"""Full circles flown in gusts that the pitot feels, as a reduction solves them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.budget import Assumptions
from fleetcal.services.flights.flight_weight import FlightWeight
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.services.flights.solve_flight import solve_flight
from fleetcal.units import MPS_PER_KT as KT
from tests.airdata.simulations.air import Air
from tests.airdata.simulations.conditions import Condition
from tests.airdata.simulations.flights import SimulatedFlight, circle_flights

pytestmark = [pytest.mark.long, pytest.mark.any_store("opens no store")]

NO_WEIGHT = FlightWeight(start_kg=None, time_s=np.empty(0), used_kg=np.empty(0))
DETAILS = FlightDetails(airframe=None, solve_by="manoeuvres")


def turns_in_gusts(
    gust_mps: float, turns: int, seed: int, circles: float = 2.0
) -> list[SimulatedFlight]:
    """Flights of one manoeuvre each, two minutes a circle, by instruments that are right."""
    return circle_flights(
        Condition(air=Air(gust_mps=gust_mps)),
        turns,
        seed,
        faults=False,
        airspeeds_kt=(95.0,),
        circles=circles,
    )


def solved(one: SimulatedFlight) -> RunLine:
    (line,) = solve_flight(one.flight, DETAILS, Assumptions(), NO_WEIGHT).result.runs
    return line


# 40 turns: Monte Carlo error of a share of 95 % is 3.5 points, of an rms error 11 %, of a mean
# error a sixth of the rms error.
@pytest.mark.parametrize(("gust_mps", "largest_rms_kt"), [(0.6, 0.6), (1.0, 0.9), (2.0, 1.8)])
def test_a_turn_in_gusts_is_right_within_what_it_states(
    gust_mps: float, largest_rms_kt: float
) -> None:
    found = [(solved(one), one.kappa[0]) for one in turns_in_gusts(gust_mps, 40, 5)]
    error = np.array(
        [(line.kappa - kappa) * line.u_dvpc_kt / line.u_kappa for line, kappa in found]
    )
    rms = float(np.sqrt(np.mean(error**2)))
    assert rms < largest_rms_kt
    assert abs(error.mean()) < 3.0 * rms / np.sqrt(len(error))
    inside = np.abs(error) <= np.array([line.U95_dvpc_kt for line, _ in found])
    assert inside.mean() >= 0.85
    # by what wind and gusts leave alone, without the instruments' terms
    own = [np.sqrt(sum(t.u_kappa**2 for t in line.terms if t.kind == "A")) for line, _ in found]
    within = [
        abs(line.kappa - kappa) <= 2.2 * u for (line, kappa), u in zip(found, own, strict=True)
    ]
    assert np.mean(within) >= 0.85


def test_a_turn_whose_second_half_reads_otherwise_states_it() -> None:
    (one,) = turns_in_gusts(0.2, 1, 3, circles=4.0)
    (flown,) = one.flight.manoeuvres
    second = np.where(flown.time_s > flown.time_s.mean(), 1.0, 0.0)
    # as water in the line would do
    slower = replace(flown, airspeed_mps=flown.airspeed_mps - 5.0 * KT * second)
    sound = solved(one)
    spoilt = solved(replace(one, flight=replace(one.flight, manoeuvres=(slower,))))
    assert spoilt.residual_kt is not None
    assert sound.residual_kt is not None
    assert spoilt.residual_kt > 5.0 * sound.residual_kt
    assert spoilt.u_dvpc_kt > 2.0 * sound.u_dvpc_kt
