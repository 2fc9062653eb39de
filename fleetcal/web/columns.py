"""What was understood of a log's columns, and mending it by choosing from lists."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from flask import Blueprint, flash, request
from werkzeug.wrappers import Response

from fleetcal.errors import FleetcalError
from fleetcal.publish.templating import render
from fleetcal.services.flights.mapped_columns import (
    ColumnMeaning,
    known_quantities,
    mended_mapping,
)
from fleetcal.services.flights.open_flight import OpenFlight, open_flight
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.understand_log import LogUnderstanding, understand_log
from fleetcal.web.flight_form import details_of, typed_in
from fleetcal.web.flights import DroppedFlight, the_flights
from fleetcal.web.refusal import refusal
from fleetcal.web.shown import frame_of, onward, the_desk

columns = Blueprint("columns", __name__)
_Answer = str | Response | tuple[str, int]


@columns.get("/flight/<int:number>/columns")
def show(number: int) -> str:
    """Show what was understood of a log."""
    flight = the_flights().find(number)
    return _page(flight, understand_log(flight.path, flight.mapping), {}, flight.trouble)


@columns.post("/flight/<int:number>/columns")
def mend(number: int) -> _Answer:
    """Read a log again with its columns as they were chosen."""
    flight = the_flights().find(number)
    with flight.lock:
        understood = understand_log(flight.path, flight.mapping)
        try:
            made, opened = _read_again(flight, understood)
        except FleetcalError as error:
            return _page(flight, understood, request.form, error), 400
        flight.mapping = made
        flight.take(opened)
    flash("The log was read again with the columns as you chose them.")
    return onward(f"flight/{number}/")


def _read_again(flight: DroppedFlight, understood: LogUnderstanding) -> tuple[Path, OpenFlight]:
    """Return the mapping that the form makes, and the flight read with it.

    Raises:
        DataError: If the log cannot be read so; the former mapping is in its place again.
    """
    north = request.form.get("north", "")
    chosen = _chosen(understood, request.form)
    text = mended_mapping(flight.path, flight.mapping, chosen, north)
    made = flight.folder / "columns" / "mapping.toml"
    made.parent.mkdir(exist_ok=True)
    former = made.read_text(encoding="utf-8") if made.exists() else None
    made.write_text(text, encoding="utf-8")
    try:
        store = the_desk().store
        details = details_of(typed_in(store, flight.fields), made)
        settings = flight.opened.settings if flight.opened else ReductionSettings()
        return made, open_flight(flight.path, details, settings, store)
    except FleetcalError:
        if former is None:
            made.unlink()
        else:
            made.write_text(former, encoding="utf-8")
        raise


def _chosen(understood: LogUnderstanding, form: Mapping[str, str]) -> list[ColumnMeaning]:
    """Return what the form says of each column that it shows."""
    shown: list[str | int] = [column.column for column in understood.columns]
    shown += understood.not_understood
    known = {column.column for column in understood.columns}
    meanings = []
    for place, column in enumerate(shown):
        quantity = form.get(f"quantity-{place}", "")
        if quantity or column in known:
            meanings.append(ColumnMeaning(column, quantity, form.get(f"unit-{place}", "")))
    return meanings


def _page(
    flight: DroppedFlight,
    understood: LogUnderstanding,
    form: Mapping[str, str],
    error: FleetcalError | None = None,
) -> str:
    quantities = known_quantities()
    units = list(dict.fromkeys(unit for units in quantities.values() for unit in units))
    return render(
        "desk_understood.html",
        frame=frame_of(refused=refusal(error)),
        title=f"{understood.source}: its columns",
        log=understood,
        form=form,
        quantities=quantities,
        units=units,
        readable=flight.opened is not None,
        fixed=not understood.separator,
    )
