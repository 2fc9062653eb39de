"""Commands on recorded flights."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from fleetcal.cli.options import (
    Day,
    Number,
    existing_file,
    flap_option,
    format_option,
    open_chosen_store,
)


@click.command()
@existing_file("log")
@click.option("--airframe", metavar="TAG", help="Tag of the airframe that flew.")
@click.option("--weight-kg", type=Number(1.0, 100000.0), help="Weight during the runs.")
@click.option("--date", "flown_on", type=Day(), help="Day of the flight, if the log has none.")
@flap_option
@click.option(
    "--airspeed-from",
    type=click.Choice(["indicated_airspeed", "impact_pressure", "true_airspeed"]),
    help="Which airspeed of the log to use, if it has several that disagree.",
)
@click.option(
    "--settings",
    "settings_file",
    type=click.Path(path_type=Path),
    help="TOML file of tolerances and assumed uncertainties; see 'fleetcal settings'.",
)
@click.option(
    "--declination-deg",
    type=Number(-180.0, 180.0),
    help="Magnetic declination, east positive: makes magnetic tracks and winds true.",
)
@click.option(
    "--solve-by",
    type=click.Choice(["legs", "manoeuvres"]),
    default="legs",
    show_default=True,
    help="Straight legs, or every sample of steady turns and boxes at constant power.",
)
@click.option("--note", default="", help="A note to keep with the sortie.")
@click.option("--preview", is_flag=True, help="Print the result, store nothing.")
@format_option
def reduce(
    log: Path,
    airframe: str | None,
    weight_kg: float | None,
    flown_on: date | None,
    flap_setting: str,
    airspeed_from: str | None,
    settings_file: Path | None,
    declination_deg: float | None,
    solve_by: str,
    note: str,
    preview: bool,
    output_format: str,
) -> None:
    """Reduce a recorded flight: legs, wind, true airspeed, position error.

    LOG is a delimited text file with headings that tell quantity and unit, or a
    table of legs written by hand (airspeed, altitude, temperature, ground speed,
    track). Steady legs are found, joined to runs of three tracks or more, and
    solved; the points are stored with the equipment fitted on that day. A file
    whose content is in the store already adds nothing.

    \b
    Example:
      fleetcal reduce flight.csv --airframe C-07 --weight-kg 580
      fleetcal reduce flight.csv --preview
    """
    from fleetcal.cli.output import emit
    from fleetcal.cli.views import REDUCTION
    from fleetcal.services.reduce_flight import FlightDetails, preview_flight, reduce_flight
    from fleetcal.services.settings_file import read_settings

    chosen = read_settings(settings_file)
    details = FlightDetails(
        airframe,
        weight_kg,
        flown_on,
        flap_setting,
        airspeed_from,
        note,
        declination_deg,
        solve_by,
    )
    if preview:
        result = preview_flight(log, details, chosen)
    elif airframe is None:
        raise click.UsageError("Missing option '--airframe' (or give --preview).")
    else:
        with open_chosen_store() as store:
            result = reduce_flight(store, log, details, chosen)
    for warning in result.warnings:
        click.echo(f"Warning: {warning}", err=True)
    emit(result, REDUCTION, output_format)


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
    from fleetcal.services.settings_file import read_settings, settings_toml

    click.echo(settings_toml(read_settings(settings_file)), nl=False)
