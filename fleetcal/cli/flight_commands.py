"""Commands on recorded flights."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from fleetcal.cli.failure import one_line
from fleetcal.cli.flight_options import (
    FigureFile,
    choice_options,
    reduction_options,
    refuse_contradictions,
)
from fleetcal.cli.options import existing_file, format_option, open_chosen_store


@click.command()
@existing_file("log")
@click.option("--airframe", metavar="TAG", help="Tag of the airframe that flew.")
@reduction_options
@choice_options
@click.option("--figure", type=FigureFile(), help="Draw what was found, as .svg, .png or .pdf.")
@click.option("--preview", is_flag=True, help="Print the result, store nothing.")
@click.option(
    "--list",
    "listed",
    type=click.Choice(["runs", "legs"]),
    default="runs",
    show_default=True,
    help="Which rows '--format csv' prints; the legs are all that were found.",
)
@format_option
def reduce(
    log: Path,
    airframe: str | None,
    settings_file: Path | None,
    figure: Path | None,
    preview: bool,
    listed: str,
    output_format: str,
    leg_list: Path | None,
    drop: tuple[tuple[int, int], ...],
    keep: tuple[int, ...],
    **details: Any,
) -> None:
    """Reduce a recorded flight: legs, wind, true airspeed, position error.

    LOG is a delimited text file with headings that tell quantity and unit, or a
    table of legs written by hand (airspeed, altitude, temperature, ground speed,
    track). Steady legs are found, joined to runs of three tracks or more, and
    solved; the points are stored with the equipment fitted on that day. A file
    whose content is in the store already adds nothing.

    What was found can be drawn, and overruled: leave out a leg or keep only some
    runs, or print the legs as CSV, edit the list and give it back. The decision
    is kept with the sortie.

    \b
    Example:
      fleetcal reduce flight.csv --airframe C-07 --weight-kg 580
      fleetcal reduce flight.csv --preview --figure flight.svg
      fleetcal reduce flight.csv --airframe C-07 --weight-kg 580 --drop 2:1 --drop 2:3
      fleetcal reduce flight.csv --preview --format csv --list legs > legs.csv
      fleetcal reduce flight.csv --airframe C-07 --weight-kg 580 --legs legs.csv
      fleetcal reduce flight.csv --airframe C-07 --takeoff-weight-kg 598 --fuel-used-kg-per-h 14
    """
    refuse_contradictions(details, leg_list, drop, keep)
    from fleetcal.cli.flight_views import LEGS, REDUCTION
    from fleetcal.cli.output import emit
    from fleetcal.services.flights.reduce_flight import (
        FlightDetails,
        HandChoices,
        preview_flight,
        reduce_flight,
    )
    from fleetcal.services.flights.settings_file import read_settings

    chosen = read_settings(settings_file)
    asked = FlightDetails(airframe, choices=HandChoices(drop, keep, leg_list), **details)
    if preview:
        result = preview_flight(log, asked, chosen, figure)
    elif airframe is None:
        raise click.UsageError("Missing option '--airframe' (or give --preview)")
    else:
        with open_chosen_store() as store:
            result = reduce_flight(store, log, asked, chosen, figure)
    for warning in result.warnings:
        click.echo(f"Warning: {one_line(warning)}", err=True)
    emit(result, LEGS if listed == "legs" else REDUCTION, output_format)


@click.command()
@click.option(
    "--from",
    "settings_file",
    type=click.Path(path_type=Path),
    help="Check this settings file and print it completed.",
)
def settings(settings_file: Path | None) -> None:
    """Print the settings of a reduction as a TOML file to start from.

    \b
    Example:
      fleetcal settings > settings.toml
      fleetcal reduce flight.csv --airframe C-07 --settings settings.toml
    """
    from fleetcal.services.flights.settings_file import read_settings, settings_toml

    click.echo(settings_toml(read_settings(settings_file)), nl=False)
