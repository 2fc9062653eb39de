"""The day on which a flight was flown: what the file says, and what the user says."""

from __future__ import annotations

from datetime import date

from fleetcal.errors import DataError
from fleetcal.services.flights.read_flight import Flight
from fleetcal.services.plausible_point import require_flown


def day_of_flight(flight: Flight, given: date | None) -> date:
    """Return the day of a flight; the given one counts more than the file's.

    Raises:
        DataError: If neither is there, or it is still to come.
    """
    flown_on = given or flight.flown_on
    if flown_on is None:
        raise DataError(
            f"{flight.source_name}: the file carries no date", "give the day with --date YYYY-MM-DD"
        )
    require_flown(flown_on, flight.source_name)
    return flown_on


def day_warnings(flight: Flight, flown_on: date) -> tuple[str, ...]:
    """Return a warning where the file says another day than is taken."""
    if flight.flown_on is None or flight.flown_on == flown_on:
        return ()
    return (f"{flown_on} is taken as the day of the flight; the file says {flight.flown_on}",)
