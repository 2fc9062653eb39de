"""The command on a whole folder of recorded flights."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fleetcal.cli.failure import one_line
from fleetcal.cli.flight_options import reduction_options, said_of_the_air
from fleetcal.cli.options import chosen_place, existing_file, open_chosen_store
from fleetcal.cli.verbs import Verb

if TYPE_CHECKING:
    from fleetcal.services.flights.reduce_folder import FolderLine

#: Exit code when some files could not be reduced.
SOME_FAILED = 3


@click.command("reduce-folder", cls=Verb, shared=("format",))
@existing_file("folder")
@click.option("--airframe", metavar="TAG", help="Tag of the airframe that flew them all.")
@click.option(
    "--list",
    "list_file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="CSV of the flights: file, airframe, weight_kg, date; also takeoff_weight_kg, "
    "fuel_used_kg_per_h, humidity_pct, dew_point_degc, flap_setting, note. What a cell leaves "
    "open the options say.",
)
@reduction_options
@click.option(
    "--processes",
    type=click.IntRange(1, 32),
    help="Processes that compute; as many as are worth it if left out.",
)
def reduce_folder(
    folder: Path,
    airframe: str | None,
    list_file: Path | None,
    settings_file: Path | None,
    processes: int | None,
    **details: Any,
) -> None:
    """Reduce every recorded flight of a FOLDER, or those on a list.

    Each is reduced as 'fleetcal reduce' does it, in the order of their names or of
    the list, and the result is the same as one by one. A file that cannot be
    reduced does not stop the others: it is told at the end, and the exit code is 3.
    Files whose content is in the store already are passed over, so that the same
    command goes on after an interruption.

    \b
    Example:
      fleetcal reduce-folder logs --airframe C-07 --weight-kg 580
      fleetcal reduce-folder logs --list flights.csv
    """
    if airframe is None and list_file is None:
        raise click.UsageError("Missing option '--airframe' or '--list'")
    from fleetcal.cli.flight_views import FOLDER
    from fleetcal.cli.output import emit
    from fleetcal.services.flights.folder_list import flights_in_folder, flights_on_list
    from fleetcal.services.flights.folder_work import useful_processes
    from fleetcal.services.flights.reduce_folder import reduce_folder as reduce_all
    from fleetcal.services.flights.reduction import FlightDetails
    from fleetcal.services.flights.settings_file import read_settings

    settings = read_settings(settings_file)
    air = said_of_the_air(details)
    asked = FlightDetails(airframe=airframe, air=air, **details)
    with open_chosen_store() as store:
        if list_file is not None:
            flights = flights_on_list(folder, list_file, asked)
        else:
            place = chosen_place()
            flights = flights_in_folder(folder, asked, [Path(place)] if place else [])
        done: list[str] = []
        try:
            tell = _teller(len(flights), done)
            count = processes or useful_processes(len(flights))
            result = reduce_all(store, flights, settings, count, tell)
        except KeyboardInterrupt:
            _clear()
            click.echo(
                f"Interrupted after {len(done)} of {len(flights)} files; the same command goes on "
                "from there",
                err=True,
            )
            raise click.Abort from None
    emit(result, FOLDER)
    if result.failed:
        sys.exit(SOME_FAILED)


def _teller(count: int, done: list[str]) -> Callable[[FolderLine], None]:
    """Return what tells a file as done: its warnings, and how far it is on a terminal."""

    def tell(line: FolderLine) -> None:
        done.append(line.file)
        _clear()
        for warning in line.warnings:
            named = warning if warning.startswith(line.file) else f"{line.file}: {warning}"
            click.echo(f"Warning: {one_line(named)}", err=True)
        if sys.stderr.isatty() and len(done) < count:
            told = f"{len(done)} of {count} files: {one_line(line.file)}"
            click.echo(told[:79], err=True, nl=False)

    return tell


def _clear() -> None:
    """Wipe the line that tells how far it is."""
    if sys.stderr.isatty():
        click.echo("\r\x1b[K", err=True, nl=False)
