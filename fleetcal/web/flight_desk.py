"""The page of one flight: looked at, its legs picked, kept."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from math import isfinite
from typing import Any

from flask import Blueprint, flash, jsonify, request
from werkzeug.wrappers import Response

from fleetcal.errors import DataError, FleetcalError, MalformedFileError
from fleetcal.publish.site.pages_flight import (
    FlightLooked,
    answer_parts,
    flight_page,
    strips_drawing,
)
from fleetcal.services.fleet.describe_airframe import describe_airframe
from fleetcal.services.flights.look_at_flight import (
    answer_shown,
    facts_shown,
    legs_shown,
    parts_shown,
    strips_shown,
)
from fleetcal.services.flights.open_stored import (
    open_stored,
    replace_stored,
    replaced_sentences,
)
from fleetcal.services.flights.picked_legs import MOST_LEGS, PickedLeg
from fleetcal.services.flights.reduction import Reduction
from fleetcal.web.flight_form import details_of, groups, new_airframe_of, typed_in, written
from fleetcal.web.flights import DroppedFlight, the_flights
from fleetcal.web.refusal import refusal, wrong_fields
from fleetcal.web.shown import frame_of, onward, the_desk

flight_desk = Blueprint("flight_desk", __name__)
_Answer = str | Response | tuple[str, int]


@flight_desk.get("/flight/<int:number>/")
def show(number: int) -> _Answer:
    """Show a flight."""
    flight = the_flights().find(number)
    if flight.opened is None:
        return onward(f"flight/{number}/columns")
    return _page(flight, flight.fields)


@flight_desk.post("/flight/<int:number>/")
def look_again(number: int) -> _Answer:
    """Take what the form says, and show the flight again."""
    flight = the_flights().find(number)
    fields = written(request.form)
    with flight.lock:
        try:
            _take_form(flight, fields)
        except FleetcalError as error:
            return _page(flight, fields, error), 400
    return onward(f"flight/{number}/")


@flight_desk.post("/flight/<int:number>/solve")
def solve(number: int) -> Response:
    """Answer the flight with the legs that the page sends."""
    flight = the_flights().find(number)
    picked = picked_of(_parsed(request.get_data(as_text=True)))
    flight.picked = picked
    return jsonify(answer_parts(answer_shown(flight.at_hand, the_desk().store, picked)))


@flight_desk.get("/flight/<int:number>/strips")
def strips(number: int) -> str:
    """Return the strips between two moments."""
    opened = the_flights().find(number).at_hand
    shown = strips_shown(opened, _moment("start_s"), _moment("stop_s"))
    if shown is None:
        raise DataError("legs written by hand have no strips", "look at the table")
    return strips_drawing(shown, parts_shown(opened, shown))


@flight_desk.post("/flight/<int:number>/keep")
def keep(number: int) -> _Answer:
    """Keep the flight as the form says."""
    flight = the_flights().find(number)
    fields = written(request.form)
    with flight.lock:
        try:
            kept = _kept(flight, fields)
        except FleetcalError as error:
            return _page(flight, fields, error), 400
    return onward(f"sorties/{kept.sortie_id}.html")


@flight_desk.get("/flight/of/<int:sortie>")
def open_again(sortie: int) -> _Answer:
    """Open a stored flight from its kept log, to look at it again."""
    store = the_desk().store
    flight = the_flights().add_opened(lambda folder: open_stored(store, sortie, folder))
    return onward(f"flight/{flight.number}/")


@flight_desk.post("/flight/<int:number>/replace")
def replace_sortie(number: int) -> _Answer:
    """Put the flight in the place of what is stored of it."""
    flight, store = the_flights().find(number), the_desk().store
    fields = written(request.form)
    with flight.lock:
        try:
            sortie = request.form.get("sortie", 0, type=int)
            _take_form(flight, fields)
            done = replace_stored(store, sortie, flight.at_hand, flight.picked)
        except FleetcalError as error:
            return _page(flight, fields, error), 400
    for words in replaced_sentences(done):
        flash(words)
    return onward(f"sorties/{sortie}.html")


def _take_form(flight: DroppedFlight, fields: Mapping[str, str]) -> None:
    details = details_of(typed_in(the_desk().store, fields), flight.mapping)
    _take_legs(flight)
    flight.take(flight.at_hand.changed(details, the_desk().store))
    flight.fields = dict(fields)


def _take_legs(flight: DroppedFlight) -> None:
    """Take the legs as the page had them when its form was sent."""
    if request.form.get("legs"):
        flight.picked = picked_of(_parsed(request.form["legs"]))


def _kept(flight: DroppedFlight, fields: Mapping[str, str]) -> Reduction:
    store = the_desk().store
    answers = new_airframe_of(store, typed_in(store, fields))
    _take_form(flight, fields)
    opened = flight.at_hand
    if answers is None:
        kept = opened.keep(store, flight.picked)
    else:
        details = replace(opened.details, airframe=answers.tag)
        named = replace(opened, details=details)
        kept = named.keep(store, flight.picked, new_airframe=True)
        flight.fields = {**flight.fields, "airframe": answers.tag}
        describe_airframe(store, answers)
    if kept.known_already:
        flash(f"Nothing was added: sortie {kept.sortie_id} has this flight already.")
        for warning in kept.warnings:
            flash(f"{warning}.")
    else:
        flash(f"The flight is kept as sortie {kept.sortie_id} of {kept.airframe}.")
        for words in kept.replaced:
            flash(words)
    return kept


def picked_of(sent: Any) -> tuple[PickedLeg, ...]:
    """Return the legs that a page sent.

    Raises:
        MalformedFileError: If they are no legs.
    """
    rows = sent.get("legs") if isinstance(sent, Mapping) else None
    try:
        assert isinstance(rows, list)
        assert len(rows) <= MOST_LEGS
        return tuple(_leg(row) for row in rows)
    except (AssertionError, KeyError, TypeError, ValueError) as error:
        raise MalformedFileError(
            "the legs that were sent are not understood", "load the page again"
        ) from error


def _leg(row: Any) -> PickedLeg:
    run = row["run"]
    assert isinstance(run, int)
    return PickedLeg(
        run=run,
        start_s=float(row["start_s"]),
        stop_s=float(row["stop_s"]),
        left_out=bool(row["left_out"]),
    )


def _moment(name: str) -> float | None:
    """Return a time from the address, None if it is none."""
    seconds = request.args.get(name, type=float)
    return seconds if seconds is not None and isfinite(seconds) else None


def _parsed(text: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):  # no JSON, or lists within lists without end
        return None


def _page(
    flight: DroppedFlight, fields: Mapping[str, str], error: FleetcalError | None = None
) -> str:
    """Return the page of a flight.

    Args:
        fields: That the form shows.
        error: Why what the form says cannot be.
    """
    opened, store = flight.at_hand, the_desk().store
    shown = strips_shown(opened)
    picking = shown is not None and opened.details.solve_by == "legs"
    found = opened.found if picking else ()
    picked = flight.picked if picking and flight.picked is not None else found
    looked = FlightLooked(
        title=flight.path.name,
        facts=facts_shown(opened),
        answer=answer_shown(opened, store, flight.picked),
        strips=shown,
        picking=picking,
        found=legs_shown(found),
        picked=legs_shown(picked),
        parts=parts_shown(opened, shown) if shown is not None else (),
        stored=tuple(
            (f"sortie {sortie} of {airframe}", f"sorties/{sortie}.html", sortie)
            for airframe, sortie in opened.stored_as(store)
        ),
    )
    return flight_page(
        looked,
        frame_of(refused=refusal(error)),
        fields=groups(store),
        typed=fields,
        wrong=wrong_fields(error),
    )
