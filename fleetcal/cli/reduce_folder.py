"""Reduce a whole folder of recorded flights."""

from __future__ import annotations

import sys
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcal.cli.ending import Ended
from fleetcal.cli.failure import inform, message_line, warn
from fleetcal.cli.new_airframe import added_if_new
from fleetcal.cli.options import chosen_place, open_chosen_store
from fleetcal.cli.progress import clear_progress, on_terminal, show_progress
from fleetcal.cli.reduce_options import ReduceOptions, flight_details

if TYPE_CHECKING:
    from fleetcal.services.flights.folder_crew import Crew
    from fleetcal.services.flights.reduce_folder import FolderLine

#: Exit code when some files could not be reduced.
SOME_FAILED = 3


def reduce_folder(folder: Path, options: ReduceOptions) -> None:
    """Reduce every recorded flight of a folder, or those on a list, and print what came of it."""
    if options["airframe"] is None and options["flights"] is None:
        raise click.UsageError("Missing option '--airframe' or '--flights'")
    from fleetcal.cli.folder_views import FOLDER
    from fleetcal.cli.output import emit
    from fleetcal.services.flights.folder_list import flights_in_folder, flights_on_list
    from fleetcal.services.flights.reduce_folder import reduce_folder as reduce_all
    from fleetcal.services.flights.settings_file import read_settings

    settings = read_settings(options["settings_file"])
    flight = flight_details(options)
    with _airframe_in_store(options), open_chosen_store() as store:
        if options["flights"] is not None:
            flights = flights_on_list(folder, options["flights"], flight, inform)
        else:
            place = chosen_place()
            flights = flights_in_folder(folder, flight, [Path(place)] if place else [])
        done: list[str] = []
        try:
            tell = _teller(len(flights), done)
            with _crew(options, len(flights)) as crew:
                result = reduce_all(store, flights, settings, crew, tell)
        except KeyboardInterrupt as stop:
            clear_progress()
            raise Ended(
                f"Interrupted after {len(done)} of {len(flights)} files; the same command goes on "
                "from there",
                stop,
            ) from None
    emit(result, FOLDER)
    if result.failed:
        sys.exit(SOME_FAILED)


def _crew(options: ReduceOptions, flights: int) -> AbstractContextManager[Crew]:
    """Return who computes: processes of this machine, or the workers of a cluster."""
    from fleetcal.services.flights.folder_crew import own_crew, useful_processes

    if options["workers_at"] is None:
        return own_crew(min(options["processes"] or useful_processes(flights), flights))
    if options["processes"] is not None:
        raise click.UsageError("'--processes' are of this machine: leave it or '--workers-at' out")
    from fleetcal.services.flights.cluster import cluster_crew

    return cluster_crew(options["workers_at"])


def _airframe_in_store(options: ReduceOptions) -> AbstractContextManager[None]:
    """Return what adds the airframe if it is new; those on a list must be there."""
    if options["airframe"] is None or options["flights"] is not None:
        return nullcontext()
    weight_kg = options["weight_kg"]
    return added_if_new(options["airframe"], options["new_airframe"], weight_kg)


def _teller(count: int, done: list[str]) -> Callable[[FolderLine], None]:
    """Return what tells a file as done: its warnings, and how far it is on a terminal."""

    def tell(line: FolderLine) -> None:
        done.append(line.file)
        clear_progress()
        warn(line.warnings, line.file)
        if on_terminal() and len(done) < count:
            show_progress(f"{len(done)} of {count} files: {message_line(line.file)}")

    return tell
