"""A stored flight that is looked at again: opened from its kept log, and put in its place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from shutil import copyfile
from typing import Any, Final

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.plain_text import signed
from fleetcal.services.flights.again_lines import ALIKE, FAILED, AgainPoint, AgainReduction
from fleetcal.services.flights.chosen_legs import read_leg_list
from fleetcal.services.flights.open_flight import OpenFlight, open_flight
from fleetcal.services.flights.picked_legs import PickedLeg
from fleetcal.services.flights.reduce_again import StoredFlightChoice, reduce_again
from fleetcal.services.flights.reduction import FlightDetails, HandChoices
from fleetcal.services.flights.stored_request import NewRequest, stored_request
from fleetcal.services.kept_file import kept_file
from fleetcal.store import Store, StoredFlight, stored_flights
from fleetcal.store.exchange.replace_flight import stored_reduction

#: Folder of a log, so that its name meets no other.
LOG: Final = "log"


def open_stored(
    store: Store, sortie_id: int, folder: Path
) -> tuple[OpenFlight, tuple[PickedLeg, ...]]:
    """Open a stored flight as it was reduced, with its legs as they were picked.

    Args:
        folder: Where its log, and its mapping if it has one, are written.

    Raises:
        UnknownNameError: If there is no such flight.
        DataError: If its log is not kept.
    """
    flight = _stored(store, sortie_id)
    if not flight.is_kept:
        raise DataError(
            f"sortie {sortie_id}: its log {flight.file} is not kept in the store",
            "drop the log itself",
        )
    with store.reading() as session:
        kept = stored_reduction(session, flight.sha256, flight.airframe, sortie_id)
    with kept_file(store, flight.sha256) as file:
        (folder / LOG).mkdir()
        path = folder / LOG / file.name
        copyfile(file, path)
    (folder / "stored").mkdir()
    request = stored_request(flight, kept.points, folder / "stored", NewRequest({}))
    opened = open_flight(path, request.details, request.settings, store)
    return opened, picked_then(request.details.choices, opened.found)


def _stored(store: Store, sortie_id: int) -> StoredFlight:
    with store.reading() as session:
        found = [one for one in stored_flights(session) if one.sortie_id == sortie_id]
    if not found:
        raise UnknownNameError(f"sortie {sortie_id} is no flight that was reduced from a log")
    return found[0]


def picked_then(choices: HandChoices, found: Sequence[PickedLeg]) -> tuple[PickedLeg, ...]:
    """Return legs as earlier choices picked them.

    Args:
        found: By run and, within it, in order.
    """
    if choices.leg_list is not None:
        return tuple(
            PickedLeg(run=leg.run, start_s=leg.start_s, stop_s=leg.stop_s)
            for leg in read_leg_list(choices.leg_list).legs
        )
    numbers: dict[int, int] = {}
    picked = []
    for leg in found:
        numbers[leg.run] = numbers.get(leg.run, 0) + 1
        out = (leg.run, numbers[leg.run]) in choices.drop
        out = out or bool(choices.keep and leg.run not in choices.keep)
        picked.append(replace(leg, left_out=out))
    return tuple(picked)


def replace_stored(
    store: Store, sortie_id: int, flight: OpenFlight, picked: Sequence[PickedLeg] | None
) -> AgainReduction:
    """Put a flight as it is looked at in the place of what is stored of it.

    What is left open stays as it is stored, settings too; decisions on points stay with their runs.

    Args:
        flight: Of the same log.
        picked: All legs; None for those found.

    Raises:
        DataError: If another aircraft is named than flew it, or the flight cannot be reduced so.
    """
    stored = _stored(store, sortie_id)
    if flight.details.airframe not in (None, stored.airframe):
        raise DataError(
            f"sortie {sortie_id} is of {stored.airframe}, not of {flight.details.airframe}",
            f"choose {stored.airframe}, or move the flight on the page of the sortie",
        )
    request = NewRequest({**_given(flight.details), "choices": flight.choices(picked)})
    choice = StoredFlightChoice(sortie_id=sortie_id, log=flight.path)
    done = reduce_again(store, choice, request, replacing=True)
    (line,) = done.flights
    if line.outcome == FAILED:
        raise DataError(line.error, line.hint)
    return done


def _given(details: FlightDetails) -> dict[str, Any]:
    """Return the details that were given."""
    blank = FlightDetails(airframe=None)
    names = (
        *("weight_kg", "takeoff_weight_kg", "fuel_used_kg_per_h", "flown_on", "airspeed_from"),
        *("note", "declination_deg", "mapping", "air"),
    )
    given = {
        name: getattr(details, name)
        for name in names
        if getattr(details, name) != getattr(blank, name)
    }
    return {**given, "solve_by": details.solve_by, "flap_setting": details.flap_setting}


def replaced_sentences(done: AgainReduction) -> tuple[str, ...]:
    """Return what was replaced, in sentences.

    Args:
        done: Of one flight.
    """
    (flight,) = done.flights
    if flight.outcome == ALIKE:
        return (f"Nothing changed: sortie {flight.sortie_id} was stored like this already.",)
    points = [point for point in done.points if point.outcome != ALIKE]
    return (
        f"Sortie {flight.sortie_id} is replaced.",
        *(_point_sentence(point) for point in points),
    )


def _point_sentence(point: AgainPoint) -> str:
    at = f"At {point.vic_kt:.0f} kt"
    if point.dvpc_kt_before is None:
        return f"{at} there is a point more."
    if point.dvpc_kt_after is None:
        return f"{at} there is no point any more."
    before, after = (signed(value) for value in (point.dvpc_kt_before, point.dvpc_kt_after))
    return f"{at} the correction was {before} kt and is {after} kt."
