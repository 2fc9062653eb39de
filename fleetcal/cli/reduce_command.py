"""The command that reduces recorded flights."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Unpack

import click

from fleetcal.cli.failure import warn
from fleetcal.cli.new_airframe import addition_of, tell_of_new
from fleetcal.cli.options import (
    PATH,
    chosen_place,
    given_options,
    open_chosen_store,
    refuse_others,
)
from fleetcal.cli.printer import echo
from fleetcal.cli.quantity_option import REDUCED, quantity_option
from fleetcal.cli.reduce_again import reduce_again, refuse_again_options
from fleetcal.cli.reduce_climbs import reduce_climbs
from fleetcal.cli.reduce_folder import reduce_folder
from fleetcal.cli.reduce_options import (
    CLIMBS,
    FITS,
    FLIGHT,
    FOLDER,
    SECTIONS,
    ReduceOptions,
    flight_details,
    reduce_options,
    refuse_contradictions,
    take_preferred_airframe,
)
from fleetcal.cli.repeated_flight import kept_by_choice
from fleetcal.cli.verbs import Verb


@click.command(cls=Verb, shared=("format", "details"), sections=SECTIONS)
@click.argument("log", metavar="[LOG|FOLDER]", type=PATH, required=False)
@quantity_option(REDUCED)
@reduce_options
def reduce(log: Path | None, quantity: str, **options: Unpack[ReduceOptions]) -> None:
    """Say how far the airspeed and altimeter readings of a recorded flight are off.

    LOG is a delimited text file with headings that name quantity and unit, or a table
    of legs written by hand (airspeed, altitude, temperature, ground speed, track).
    Steady legs are found, joined to runs of three tracks or more, and solved under one
    wind that moves. With an --airframe the points are stored with the equipment fitted
    that day, once; without one nothing is stored. --solve-by flight takes a flight in
    which nobody flew legs; see 'fleetcal manual ordinary-flights'.

    What was found can be drawn, and overruled: leave out legs, keep some runs, or
    print the legs as CSV, edit the list and give it back. That is kept with the sortie.

    Of a FOLDER every file is reduced, or those on a list, as one by one, in the
    order of their names or of the list. A file that cannot be reduced does not
    stop the others: it is named at the end, and the exit code is 3. Files that
    are in the store already are passed over, so that the same command goes on
    after an interruption.

    --quantity climb or glide finds steady climbs or glides instead. Those flown
    both ways, on opposite headings through one block of altitude at one
    airspeed, are joined and accepted; in those flown one way a wind that changes with
    height looks like performance: they are kept but accepted only with an allowance for that.

    --again reduces stored flights anew, by the newest method and as they were
    asked for then, or as you ask now: LOG, a --sortie, those of an --airframe
    whose log is kept, or all whose log is kept. Every point is shown before and after,
    and nothing changes without --replace. A decision on a point stays with its run.

    \b
    Example:
      fleetcal reduce flight.csv
      fleetcal reduce flight.csv --out flight.svg
      fleetcal reduce flight.csv --airframe C-07 --new-airframe
      fleetcal reduce flight.csv --airframe C-07 --weight-kg 580 --drop 2:1 --drop 2:3
      fleetcal reduce flight.csv --format csv --rows legs > legs.csv
      fleetcal reduce flight.csv --airframe C-07 --weight-kg 580 --legs legs.csv
      fleetcal reduce flight.csv --airframe C-07 --takeoff-weight-kg 598 --fuel-used-kg-per-h 14
      fleetcal reduce logs --flights flights.csv
      fleetcal reduce season --airframe C-07 --weight-kg 580 --solve-by flight
      fleetcal reduce saw.csv --airframe C-07 --quantity glide --power-state idle
      fleetcal reduce saw.csv --airframe C-07 --quantity climb --power-state full --between-s ..900
      fleetcal reduce --again --airframe C-07
      fleetcal reduce flight.csv --again --settings settings.toml --replace
    """
    kind = CLIMBS if quantity != REDUCED[0] else FOLDER if log and log.is_dir() else FLIGHT
    refuse_others(kind, FITS)
    refuse_contradictions(options)
    if options["again"]:
        reduce_again(log)
        return
    refuse_again_options()
    if log is None:
        raise click.UsageError("Missing argument 'LOG' (or give --again)")
    take_preferred_airframe(options)
    if kind == CLIMBS:
        reduce_climbs(log, quantity, options)
    elif kind == FOLDER:
        reduce_folder(log, options)
    else:
        _reduce_one(log, options)


def _reduce_one(log: Path, options: ReduceOptions) -> None:
    from fleetcal.cli.flight_report_file import report_file
    from fleetcal.cli.flight_views import LEGS, REDUCTION
    from fleetcal.cli.output import emit
    from fleetcal.services.flights.reduce_flight import Given, preview_flight, reduce_flight
    from fleetcal.services.flights.reduce_new_airframe import reduce_new_airframe
    from fleetcal.services.flights.settings_file import read_settings

    flight = flight_details(options)
    if flight.airframe is None and not options["preview"]:
        _refuse_keeping()
    file, figure = options["settings_file"], report_file(options)
    settings = read_settings(file)
    if options["preview"] or flight.airframe is None:
        result = preview_flight(log, flight, settings, figure)
    else:
        given = Given(flight, given_options(), settings if file else None, file)
        addition = addition_of(flight.airframe, options["new_airframe"])
        if addition is not None:
            begin = addition.begin
            result = kept_by_choice(
                lambda choice: reduce_new_airframe(
                    chosen_place(),
                    log,
                    replace(flight, repeat=choice),
                    settings,
                    figure,
                    begin=begin,
                ),
                flight.repeat,
            )
            tell_of_new(flight.airframe)
        else:
            with open_chosen_store() as opened:
                result = kept_by_choice(
                    lambda choice: reduce_flight(
                        *(opened, log, replace(flight, repeat=choice)),
                        settings=settings,
                        figure=figure,
                        given=given,
                    ),
                    flight.repeat,
                )
    emit(result, LEGS if options["rows"] == "legs" else REDUCTION)
    warn(result.warnings)
    if options["opening"] and result.figure:
        click.launch(result.figure)


def _refuse_keeping() -> None:
    """Fail with the usage where an option is for a flight that is kept, and no name is given."""
    for name in ("keep_log", "new_airframe", "note", "another_flight", "replacing"):
        if name in given_options():
            option = "--replace" if name == "replacing" else f"--{name.replace('_', '-')}"
            raise click.UsageError(f"'{option}' is for a flight that is kept: give '--airframe'")


@click.command(cls=Verb)
@click.argument("file", metavar="[FILE]", type=PATH, required=False)
def settings(file: Path | None) -> None:
    """Print the settings of a reduction as a TOML file to start from.

    With a FILE of settings, check it and print it completed.

    \b
    Example:
      fleetcal settings > settings.toml
      fleetcal reduce flight.csv --airframe C-07 --settings settings.toml
    """
    from fleetcal.services.flights.settings_file import read_settings, settings_toml

    echo(settings_toml(read_settings(file)), nl=False)
