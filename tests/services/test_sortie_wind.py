"""Runs of one flight judged together, in air of no class that the solve supposes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.budget import Assumptions
from fleetcal.services.flights.flight_weight import FlightWeight
from fleetcal.services.flights.read_flight import GroupedLegs
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.solve_flight import solve_flight
from fleetcal.services.flights.solve_run import Run
from fleetcal.services.flights.sortie_wind import sortie_wind
from tests.airdata.simulations.conditions import CONDITIONS
from tests.airdata.simulations.flights import SimulatedFlight, box_flights
from tests.airdata.simulations.table import solved

pytestmark = [pytest.mark.long, pytest.mark.any_store("opens no store")]

NO_WEIGHT = FlightWeight(start_kg=None, time_s=np.empty(0), used_kg=np.empty(0))
DETAILS = FlightDetails(airframe=None)
GIVEN = Assumptions()


def reduced(one: SimulatedFlight):
    return solve_flight(one.flight, DETAILS, Assumptions(), NO_WEIGHT).result


def solvable(number: int, planned: GroupedLegs) -> Run:
    return Run(
        number=number,
        legs=planned.legs,
        leg_numbers=tuple(range(1, len(planned.legs) + 1)),
        turns=tuple(turn for turn in planned.turns if turn is not None),
    )


# 30 flights of three runs that err alike: Monte Carlo error of a share of 95 % is 4 points.
@pytest.mark.parametrize(
    "name", ["veer 20 deg", "veer 40 deg", "slow wind 2 kt", "three legs, veer 20 deg"]
)
def test_intervals_of_accepted_runs_hold_in_a_changing_wind(name: str) -> None:
    runs = solved(box_flights(CONDITIONS[name], 30, seed=5), "legs")
    assert len(runs) == 90  # not one is refused: all solves settle
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
        # the others help to tell its wind
        assert together.kappa != first.kappa
        assert abs(together.dvpc_kt - first.dvpc_kt) < first.U95_dvpc_kt
        by_wind = [
            np.sqrt(sum(t.u_kappa**2 for t in run.terms if t.kind == "A"))
            for run in (first, together)
        ]
        assert by_wind[1] < 0.8 * by_wind[0]


# 15 flights: Monte Carlo error of an rms of 45 runs is 11 %, of the ratio some 15 %.
def test_solved_together_runs_in_a_veering_wind_err_far_less_than_each_by_itself() -> None:
    together, alone = [], []
    for one in box_flights(CONDITIONS["veer 20 deg"], 15, seed=11, faults=False):
        for line, legs, kappa in zip(reduced(one).runs, one.flight.runs, one.kappa, strict=True):
            together.append(line.kappa - kappa)
            alone.append(float(solvable(1, legs).alone.kappa[0]) - kappa)
    assert np.sqrt(np.mean(np.square(together))) < 0.25 * np.sqrt(np.mean(np.square(alone)))


def test_a_wind_that_moves_is_an_error_that_the_runs_of_a_sortie_share() -> None:
    for one in box_flights(CONDITIONS["slow wind 2 kt"], 5, seed=8):
        runs = reduced(one).runs
        shared = [
            {t.name: t for t in run.terms if t.name.startswith("moving wind ")} for run in runs
        ]
        assert all(shared)
        assert {t.owner for terms in shared for t in terms.values()} == {"sortie"}
        for run, terms in zip(runs, shared, strict=True):
            (own,) = [t for t in run.terms if t.name == "leg scatter"]
            assert own.owner == "point"
            assert np.isfinite(own.degrees_of_freedom)
            assert sum(t.u_kappa**2 for t in terms.values()) > 0.0
        # multiplied out, the shared parts are what the joint solve says of two runs together
        air = sortie_wind([solvable(n, legs) for n, legs in enumerate(one.flight.runs, 1)], GIVEN)
        size = np.sqrt(np.diag(air.air.covariance))
        for i, j in ((0, 1), (0, 2), (1, 2)):
            both = sum(t.u_kappa * shared[j][name].u_kappa for name, t in shared[i].items())
            assert both == pytest.approx(air.air.covariance[i, j], abs=0.05 * size[i] * size[j])


def test_a_heading_that_swings_does_not_move_the_answer() -> None:
    hunting = box_flights(CONDITIONS["hunting 4 deg, 2 kt"], 10, seed=9, faults=False)
    error_kt = [run.error_kt for run in solved(hunting, "legs")]
    # by mean vectors it was -0.11 kt, always to one side
    assert abs(np.mean(error_kt)) < 0.03


def spoilt(one: SimulatedFlight) -> SimulatedFlight:
    """The ground speeds of a leg of the second run a tenth too high."""
    legs = list(one.flight.runs[1].legs)
    legs[2] = replace(legs[2], east_mps=1.1 * legs[2].east_mps, north_mps=1.1 * legs[2].north_mps)
    second = replace(one.flight.runs[1], legs=tuple(legs))
    runs = (one.flight.runs[0], second, one.flight.runs[2])
    return replace(one, flight=replace(one.flight, runs=runs))


def test_a_bad_leg_widens_no_other_run() -> None:
    (one,) = box_flights(CONDITIONS["as assumed"], 1, seed=10)
    good, bad = reduced(one), reduced(spoilt(one))
    assert [run.accepted for run in bad.runs] == [True, False, True]
    assert "run 2" in bad.runs[1].reason
    for place in (0, 2):
        assert bad.runs[place].u_kappa == pytest.approx(good.runs[place].u_kappa, rel=0.3)


def test_a_bad_leg_is_found_in_a_veering_wind_too() -> None:
    for one in box_flights(CONDITIONS["veer 20 deg"], 3, seed=10):
        assert [run.accepted for run in reduced(one).runs] == [True, True, True]
        assert [run.accepted for run in reduced(spoilt(one)).runs] == [True, False, True]
