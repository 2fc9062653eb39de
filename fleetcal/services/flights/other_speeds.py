"""What the rest of a log says of a large error that was measured at one airspeed only."""

from __future__ import annotations

from fleetcal.airdata.budget import Assumptions
from fleetcal.errors import DataError
from fleetcal.records import ORDINARY_FLIGHT
from fleetcal.services.flights.parts_flown import require_courses, too_open
from fleetcal.services.flights.read_flight import Flight
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.services.flights.run_to_line import run_to_line
from fleetcal.services.flights.solve_run import Run
from fleetcal.services.flights.sortie_wind import sortie_wind


def at_other_speeds(flight: Flight, assumptions: Assumptions) -> list[RunLine]:
    """Solve the airspeeds that a log was flown at, as of an ordinary flight.

    Returns:
        None from a sheet, and none where the flight does not tell.
    """
    runs = [
        Run(
            number=number,
            legs=flown,
            leg_numbers=tuple(range(1, len(flown) + 1)),
            technique=ORDINARY_FLIGHT,
        )
        for number, flown in enumerate(flight.airspeeds, 1)
    ]
    try:
        require_courses(flight)
        wind = sortie_wind(runs, assumptions)
    except DataError:
        return []
    settled, _ = too_open([run_to_line(one, "", flight.steps, assumptions) for one in wind.joined])
    return settled
