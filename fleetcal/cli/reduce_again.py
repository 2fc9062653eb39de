"""Reduce stored flights again."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import cast

import click

from fleetcal.cli.air_options import (
    AIR_OPTIONS,
    NOTED_OPTIONS,
    AirOptions,
    NotedOptions,
    air_of,
    with_noted,
)
from fleetcal.cli.failure import warn
from fleetcal.cli.options import given_options, open_chosen_store

#: Exit code when some flights could not be reduced again.
SOME_FAILED = 3
_NEVER_AGAIN = {
    "figure": "--out",
    "opening": "--open",
    "keep_log": "--keep-log",
    "rows": "--rows",
    "note": "--note",
    "another_flight": "--another-flight",
}
_NEW_REQUEST = (
    *(
        "solve_by",
        "heading",
        "declination_deg",
        "mapping",
        "airspeed_from",
        "flap_setting",
        "flown_on",
    ),
    *("weight_kg", "takeoff_weight_kg", "fuel_used_kg_per_h"),
)


def refuse_again_options() -> None:
    """Fail with the usage where options of reducing again are given without it, or for nothing.

    Raises:
        click.UsageError
    """
    if "sortie" in given_options():
        raise click.UsageError("'--sortie' goes with '--again'")
    refuse_replacing_preview()


def refuse_replacing_preview() -> None:
    """Fail with the usage where nothing is to be stored, and something to be replaced."""
    options = click.get_current_context().params
    if options["preview"] and options["replacing"]:
        raise click.UsageError("'--preview' and '--replace' contradict each other")


def reduce_again(log: Path | None) -> None:
    """Reduce stored flights again as the options of the command say, and print what came of it.

    Raises:
        click.UsageError: If an option does not go with it.
    """
    given, options = given_options(), click.get_current_context().params
    for name, option in _NEVER_AGAIN.items():
        if name in given:
            raise click.UsageError(f"'{option}' does not go with '--again'")
    refuse_replacing_preview()
    from fleetcal.cli.again_views import AGAIN
    from fleetcal.cli.output import emit
    from fleetcal.services.flights.again_lines import FAILED
    from fleetcal.services.flights.reduce_again import StoredFlightChoice
    from fleetcal.services.flights.reduce_again import reduce_again as reduce_them
    from fleetcal.services.flights.reduction import HandChoices
    from fleetcal.services.flights.settings_file import read_settings
    from fleetcal.services.flights.stored_request import NewRequest

    details: dict[str, object] = {name: options[name] for name in _NEW_REQUEST if name in given}
    choices = HandChoices(options["drop"], options["keep"], options["leg_list"])
    if choices.any:
        details["choices"] = choices
    if given & {*AIR_OPTIONS, *NOTED_OPTIONS}:
        air = air_of(cast("AirOptions", options))
        details["air"] = with_noted(air, cast("NotedOptions", options))
    file = options["settings_file"]
    new = NewRequest(details, read_settings(file) if file is not None else None)
    choice = StoredFlightChoice(options["airframe"], options["sortie"], log)
    with open_chosen_store() as store:
        result = reduce_them(store, choice, new, replacing=options["replacing"])
    for flight in result.flights:
        warn(flight.warnings, flight.file)
    emit(result, AGAIN)
    if result.count(FAILED):
        sys.exit(SOME_FAILED)
