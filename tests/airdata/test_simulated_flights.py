"""Whole simulated flights go through the services as recorded ones do; the table counts right."""

import numpy as np
import pytest

from fleetcal.airdata.budget import Assumptions
from fleetcal.services.flights.flight_weight import FlightWeight
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.solve_flight import solve_flight
from seed_demo.air import KT
from tests.airdata.simulations import table
from tests.airdata.simulations.conditions import CONDITIONS
from tests.airdata.simulations.flights import AIRSPEEDS_KT, box_flights, circle_flights


def _lines(one, solve_by):
    weight = FlightWeight(start_kg=None, time_s=np.empty(0), used_kg=np.empty(0))
    details = FlightDetails(airframe=None, solve_by=solve_by)
    return solve_flight(one.flight, details, Assumptions(), weight).result.runs


# 0.05 kt is 1.5e-3 of kappa at 71 kt: steps and noise of the recorder
@pytest.mark.long
def test_a_flight_has_a_run_at_each_airspeed_with_its_true_wind_and_error():
    (one,) = box_flights(CONDITIONS["no faults"], 1, 1, faults=False)
    lines = _lines(one, "legs")
    assert [len(run.legs) for run in one.flight.runs] == [4, 4, 4]
    assert [line.vic_kt for line in lines] == pytest.approx(AIRSPEEDS_KT, abs=2.0)
    assert [line.kappa for line in lines] == pytest.approx(one.kappa, abs=1.5e-3)
    wind_kt = np.hypot(*one.wind_mps) / KT
    assert [line.wind_speed_kt for line in lines] == pytest.approx(wind_kt, abs=0.1)


def test_two_full_circles_are_one_manoeuvre_each():
    (one,) = circle_flights(CONDITIONS["no faults"], 1, 1, faults=False)
    assert len(one.flight.manoeuvres) == 3
    for flown in one.flight.manoeuvres:
        track = np.unwrap(np.arctan2(flown.east_mps, flown.north_mps))
        assert abs(track[-1] - track[0]) == pytest.approx(4.0 * np.pi, abs=0.3)
    lines = _lines(one, "manoeuvres")
    assert [line.kappa for line in lines] == pytest.approx(one.kappa, abs=1.5e-3)


@pytest.mark.long
@pytest.mark.parametrize("solve_by", ["legs", "manoeuvres"])
def test_the_terms_that_the_table_sets_aside_are_terms_of_the_budget(solve_by):
    fly = box_flights if solve_by == "legs" else circle_flights
    (one,) = fly(CONDITIONS["no faults"], 1, 2)
    for line in _lines(one, solve_by):
        assert set(table.INSTRUMENT_TERMS) <= {term.name for term in line.terms}


def test_a_line_of_the_table_counts_runs_intervals_and_flights_that_err_alike():
    def run(flight, error_kt, accepted=True, warned=False):
        return table.Solved(
            flight=flight,
            error_kt=error_kt,
            own_u_kt=0.3,
            expanded_kt=1.0,
            accepted=accepted,
            warned=warned,
        )

    runs = [run(0, 0.5), run(0, 2.0, accepted=False, warned=True), run(1, 0.1), run(1, 0.2)]
    share, error = table.share_inside(runs)
    assert share == 0.75
    # the flights have 1 and 2 of 2 inside: 0.5 less and 0.5 more than expected, over 4 runs
    assert error == pytest.approx(np.hypot(0.5, 0.5) / 4.0)


@pytest.mark.long
def test_the_table_prints_a_line_for_a_condition():
    line = table.by_legs(CONDITIONS["as assumed"], 3, 31)
    assert line.runs == 9
    assert line.rms_kt < line.rms_all_kt + 0.3
    text = table.line_text("as assumed", line)
    assert text.startswith("as assumed")
    assert "nan" not in text
