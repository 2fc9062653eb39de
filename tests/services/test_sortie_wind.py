"""Runs of one flight judged together, in air of no class that the solve supposes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.budget import Assumptions
from fleetcal.services.flights.flight_weight import FlightWeight
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.solve_flight import solve_flight
from tests.airdata.simulations.conditions import CONDITIONS
from tests.airdata.simulations.flights import SimulatedFlight, box_flights
from tests.airdata.simulations.table import solved

pytestmark = pytest.mark.any_store("opens no store")

NO_WEIGHT = FlightWeight(start_kg=None, time_s=np.empty(0), used_kg=np.empty(0))
DETAILS = FlightDetails(airframe=None)


def reduced(one: SimulatedFlight):
    return solve_flight(one.flight, DETAILS, Assumptions(), NO_WEIGHT).result


# 30 flights of three runs that err alike: Monte Carlo error of a share of 95 % is 4 points.
@pytest.mark.parametrize(
    "name", ["veer 20 deg", "veer 40 deg", "slow wind 2 kt", "three legs, veer 20 deg"]
)
def test_intervals_of_accepted_runs_hold_in_a_changing_wind(name: str) -> None:
    runs = solved(box_flights(CONDITIONS[name], 30, seed=5), "legs")
    accepted = [run for run in runs if run.accepted]
    assert len(accepted) >= 0.9 * len(runs)
    assert np.mean([run.inside for run in accepted]) >= 0.85


def test_a_veering_wind_is_said_and_a_steady_one_is_not() -> None:
    for one in box_flights(CONDITIONS["veer 20 deg"], 5, seed=6):
        (said,) = reduced(one).wind
        assert said.startswith("the wind changed steadily by ")
        # 20 kt through 20 degrees are 7 kt
        assert 5.0 < float(said.split(" by ")[1].split()[0]) < 9.0
    for one in box_flights(CONDITIONS["no faults"], 5, seed=6):
        assert reduced(one).wind == ()


def test_steady_air_makes_three_runs_surer_than_one() -> None:
    for one in box_flights(CONDITIONS["no faults"], 5, seed=7):
        alone = replace(one.flight, runs=one.flight.runs[:1])
        first = solve_flight(alone, DETAILS, Assumptions(), NO_WEIGHT).result.runs[0]
        together = reduced(one).runs[0]
        assert together.kappa == first.kappa
        scatter = [
            next(t.u_kappa for t in run.terms if t.name == "leg scatter")
            for run in (first, together)
        ]
        assert scatter[1] < 0.7 * scatter[0]


def test_the_drift_of_a_sortie_is_one_error_of_all_its_runs() -> None:
    for one in box_flights(CONDITIONS["veer 20 deg"], 5, seed=8):
        for way in ("east", "north"):
            terms = [
                next(t for t in run.terms if t.name == f"wind drift {way}")
                for run in reduced(one).runs
            ]
            assert {term.owner for term in terms} == {"sortie"}
            assert len({np.sign(term.u_kappa) for term in terms}) == 1


def test_a_heading_that_swings_does_not_move_the_answer() -> None:
    hunting = box_flights(CONDITIONS["hunting 4 deg, 2 kt"], 10, seed=9, faults=False)
    error_kt = [run.error_kt for run in solved(hunting, "legs")]
    # by mean vectors it was -0.11 kt, always to one side
    assert abs(np.mean(error_kt)) < 0.03


def test_a_bad_leg_widens_no_other_run() -> None:
    (one,) = box_flights(CONDITIONS["as assumed"], 1, seed=10)
    good = reduced(one)
    legs = list(one.flight.runs[1].legs)
    # its ground speeds are a tenth too high
    legs[2] = replace(legs[2], east_mps=1.1 * legs[2].east_mps, north_mps=1.1 * legs[2].north_mps)
    runs = (one.flight.runs[0], replace(one.flight.runs[1], legs=tuple(legs)), one.flight.runs[2])
    spoilt = reduced(replace(one, flight=replace(one.flight, runs=runs)))
    assert [run.accepted for run in spoilt.runs] == [True, False, True]
    assert "run 2" in spoilt.runs[1].reason
    for place in (0, 2):
        assert spoilt.runs[place].u_kappa == pytest.approx(good.runs[place].u_kappa, rel=0.3)
