"""The command on techniques other than GPS legs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Unpack

import click

from fleetcal.cli.air_options import AirOptions, air_of, air_options
from fleetcal.cli.failure import inform, warn
from fleetcal.cli.measurement_help import TECHNIQUES, TechniqueCommand
from fleetcal.cli.new_airframe import added_if_new, new_airframe_option
from fleetcal.cli.option_types import Day
from fleetcal.cli.options import (
    airframe_option,
    existing_file,
    file_option,
    flap_option,
    note_option,
    open_chosen_store,
    preview_option,
    weight_option,
)
from fleetcal.cli.preferred import preferred_airframe
from fleetcal.cli.repeated_flight import (
    another_flight_option,
    in_its_place_option,
    kept_by_choice,
    repeat_choice,
)


@click.command(cls=TechniqueCommand, shared=("format",))
@click.argument("technique", type=click.Choice(list(TECHNIQUES)), metavar="TECHNIQUE")
@existing_file("file")
@airframe_option(help="Tag of the airframe under test.")
@new_airframe_option
@click.option("--date", "flown_on", type=Day(), help="Day of the flight.")
@weight_option(help="Weight at the points.")
@flap_option
@file_option(
    "--settings",
    "settings_file",
    help="TOML file of assumed uncertainties and the probe; see 'fleetcal settings'.",
)
@note_option(help="A note to keep with the sortie.")
@another_flight_option
@in_its_place_option
@preview_option
@air_options
def measure(
    technique: str,
    file: Path,
    airframe: str | None,
    new_airframe: bool,
    flown_on: date | None,
    weight_kg: float | None,
    flap_setting: str,
    settings_file: Path | None,
    note: str,
    another_flight: bool,
    replacing: bool,
    preview: bool,
    **of_the_air: Unpack[AirOptions],
) -> None:
    """Measure position error by a speed course, pace aircraft, tower fly-by or trailing source.

    Each TECHNIQUE reads a CSV FILE of readings and stores the same kind of point
    as 'fleetcal reduce', with a budget of its own. 'fleetcal measure TECHNIQUE
    --help' lists the columns of its FILE, with an example.

    \b
    Example:
      fleetcal measure pace-aircraft pace.csv --airframe C-07 --date 2024-05-02 --weight-kg 580
      fleetcal measure speed-course course.csv --preview
    """
    from fleetcal.cli.measure_views import MEASUREMENT
    from fleetcal.cli.output import emit
    from fleetcal.services.flights.settings_file import read_settings
    from fleetcal.services.measurements.measure_points import (
        MeasurementDetails,
        measure_points,
        preview_points,
    )

    settings = read_settings(settings_file)
    airframe = airframe if preview else preferred_airframe(airframe)
    details = MeasurementDetails(
        technique=technique,
        airframe=airframe,
        flown_on=flown_on,
        weight_kg=weight_kg,
        flap_setting=flap_setting,
        note=note,
        air=air_of(of_the_air),
    )
    if preview:
        result = preview_points(file, details, settings, inform)
    elif airframe is None or flown_on is None:
        missing = "--airframe" if airframe is None else "--date"
        raise click.UsageError(f"Missing option '{missing}' (or give --preview).")
    else:
        added = added_if_new(airframe, new_airframe, weight_kg)
        with added, open_chosen_store() as store:
            result = kept_by_choice(
                lambda choice: measure_points(
                    store, file, replace(details, repeat=choice), settings, inform
                ),
                repeat_choice(another=another_flight, replacing=replacing),
            )
    warn(result.warnings)
    emit(result, MEASUREMENT)
