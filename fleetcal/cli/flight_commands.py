"""Commands on recorded flights."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from fleetcal.cli.again_options import (
    again_options,
    given_options,
    reduce_once_more,
    refuse_again_options,
)
from fleetcal.cli.failure import one_line
from fleetcal.cli.flight_options import (
    FigureFile,
    choice_options,
    reduction_options,
    refuse_contradictions,
    said_of_the_air,
)
from fleetcal.cli.options import open_chosen_store
from fleetcal.cli.verbs import Verb


@click.command(cls=Verb, shared=("format",))
@click.argument("log", type=click.Path(path_type=Path), required=False)
@click.option("--airframe", metavar="TAG", help="Tag of the airframe that flew.")
@reduction_options
@choice_options
@again_options
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
def reduce(
    log: Path | None,
    airframe: str | None,
    settings_file: Path | None,
    figure: Path | None,
    preview: bool,
    listed: str,
    leg_list: Path | None,
    drop: tuple[tuple[int, int], ...],
    keep: tuple[int, ...],
    again: bool,
    sortie: int | None,
    replacing: bool,
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

    --again reduces stored flights anew, by the newest method and as they were
    asked for then, or as you ask now: LOG, a --sortie, those of an --airframe
    whose log is kept, or all whose log is kept. Every point is shown before and
    after, and nothing is changed without --replace. What somebody decided of a
    point stays with the same run, which is told by its time.

    \b
    Example:
      fleetcal reduce flight.csv --airframe C-07 --weight-kg 580
      fleetcal reduce flight.csv --preview --figure flight.svg
      fleetcal reduce flight.csv --airframe C-07 --weight-kg 580 --drop 2:1 --drop 2:3
      fleetcal reduce flight.csv --preview --format csv --list legs > legs.csv
      fleetcal reduce flight.csv --airframe C-07 --weight-kg 580 --legs legs.csv
      fleetcal reduce flight.csv --airframe C-07 --takeoff-weight-kg 598 --fuel-used-kg-per-h 14
      fleetcal reduce --again --airframe C-07
      fleetcal reduce flight.csv --again --settings settings.toml --replace
    """
    refuse_contradictions(details, leg_list, drop, keep)
    if again:
        reduce_once_more(log)
        return
    refuse_again_options()
    if log is None:
        raise click.UsageError("Missing argument 'LOG' (or give --again)")
    from fleetcal.cli.flight_views import LEGS, REDUCTION
    from fleetcal.cli.output import emit
    from fleetcal.services.flights.reduce_flight import (
        FlightDetails,
        Given,
        HandChoices,
        preview_flight,
        reduce_flight,
    )
    from fleetcal.services.flights.settings_file import read_settings

    chosen = read_settings(settings_file)
    details |= {"choices": HandChoices(drop, keep, leg_list), "air": said_of_the_air(details)}
    asked = FlightDetails(airframe=airframe, **details)
    if preview:
        result = preview_flight(log, asked, chosen, figure)
    elif airframe is None:
        raise click.UsageError("Missing option '--airframe' (or give --preview)")
    else:
        given = Given(asked, given_options(), chosen if settings_file else None, settings_file)
        with open_chosen_store() as opened:
            result = reduce_flight(opened, log, asked, settings=chosen, figure=figure, given=given)
    _warn(result.warnings)
    emit(result, LEGS if listed == "legs" else REDUCTION)


def _warn(warnings: Sequence[str]) -> None:
    for warning in warnings:
        click.echo(f"Warning: {one_line(warning)}", err=True)


@click.command(cls=Verb)
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
