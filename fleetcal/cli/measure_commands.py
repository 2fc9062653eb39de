"""Commands on techniques other than GPS legs."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

import click

from fleetcal.cli.flight_options import air_options, said_of_the_air
from fleetcal.cli.measurement_help import TechniqueCommand
from fleetcal.cli.options import (
    Day,
    Number,
    existing_file,
    flap_option,
    open_chosen_store,
)
from fleetcal.cli.verbs import VerbGroup

Measure = TypeVar("Measure", bound=Callable[..., Any])


@click.group(cls=VerbGroup)
def measure() -> None:
    """Measure position error by a speed course, pace aircraft, tower fly-by or trailing source.

    Each technique reads a CSV file of readings and stores the same kind of point
    as 'fleetcal reduce', with a budget of its own. The help of each command lists
    the columns, with an example file.

    \b
    Example:
      fleetcal measure pace-aircraft pace.csv --airframe C-07 --date 2024-05-02 --weight-kg 580
      fleetcal measure speed-course course.csv --preview
    """


def _options(command: Measure) -> Measure:
    command = air_options(command)
    for option in (
        click.option("--preview", is_flag=True, help="Print the result, store nothing."),
        click.option("--note", default="", help="A note to keep with the sortie."),
        click.option(
            "--settings",
            "settings_file",
            type=click.Path(path_type=Path),
            help="TOML file of assumed uncertainties and the probe; see 'fleetcal settings'.",
        ),
        flap_option,
        click.option("--weight-kg", type=Number(1.0, 100000.0), help="Weight at the points."),
        click.option("--date", "flown_on", type=Day(), help="Day of the flight."),
        click.option("--airframe", metavar="TAG", help="Tag of the airframe under test."),
        existing_file("file"),
    ):
        command = option(command)
    return command


@measure.command("speed-course", cls=TechniqueCommand, shared=("format",))
@_options
def speed_course(**options: Any) -> None:
    """Measure by timed passes over a known distance, one each way, heading held.

    Hold the heading of the course, not its track, and let the aircraft drift with the
    crosswind: the mean of the two ground speeds is then the true airspeed. Times
    count from abeam the first mark to abeam the second. Several pairs at one
    airspeed show whether the wind stayed.

    \b
    Example:
      fleetcal measure speed-course course.csv --airframe C-07 --date 2024-05-02 --weight-kg 580
    """
    _run("speed-course", **options)


@measure.command("pace-aircraft", cls=TechniqueCommand, shared=("format",))
@_options
def pace_aircraft(**options: Any) -> None:
    """Measure side by side with an aircraft of known calibration.

    Both aircraft fly level, at one height and at rest against each other, far
    enough apart not to feel each other's flow. With both altimeters noted, the
    result joins airspeeds and altimeters and says how well they agree. Formation
    flying needs training and a briefing.

    \b
    Example:
      fleetcal measure pace-aircraft pace.csv --airframe C-07 --date 2024-05-02 --weight-kg 580
    """
    _run("pace-aircraft", **options)


@measure.command("tower-fly-by", cls=TechniqueCommand, shared=("format",))
@_options
def tower_fly_by(**options: Any) -> None:
    """Measure by passing a reference of surveyed height where pressure is measured.

    The height of the aircraft's altimeter above the reference is sighted at each
    pass. Pressure and temperature are those at the reference at that time.

    \b
    Example:
      fleetcal measure tower-fly-by tower.csv --airframe C-07 --date 2024-05-02 --weight-kg 580
    """
    _run("tower-fly-by", **options)


@measure.command("trailing-static", cls=TechniqueCommand, shared=("format",))
@_options
def trailing_static(**options: Any) -> None:
    """Measure against a trailing cone or bomb.

    Either a gauge between the aircraft's static line and the trailing source, or
    an altimeter on the trailing source.

    \b
    Example:
      fleetcal measure trailing-static cone.csv --airframe C-07 --date 2024-05-02 --weight-kg 580
    """
    _run("trailing-static", **options)


def _run(
    technique: str,
    file: Path,
    airframe: str | None,
    flown_on: date | None,
    weight_kg: float | None,
    flap_setting: str,
    settings_file: Path | None,
    note: str,
    preview: bool,
    **of_the_air: Any,
) -> None:
    from fleetcal.cli.measure_views import MEASUREMENT
    from fleetcal.cli.output import emit
    from fleetcal.services.flights.settings_file import read_settings
    from fleetcal.services.measurements.measure_points import (
        MeasurementDetails,
        measure_points,
        preview_points,
    )

    settings = read_settings(settings_file)
    air = said_of_the_air(of_the_air)
    details = MeasurementDetails(
        technique=technique,
        airframe=airframe,
        flown_on=flown_on,
        weight_kg=weight_kg,
        flap_setting=flap_setting,
        note=note,
        air=air,
    )
    if preview:
        result = preview_points(file, details, settings)
    elif airframe is None or flown_on is None:
        missing = "--airframe" if airframe is None else "--date"
        raise click.UsageError(f"Missing option '{missing}' (or give --preview).")
    else:
        with open_chosen_store() as store:
            result = measure_points(store, file, details, settings)
    for warning in result.warnings:
        click.echo(f"Warning: {warning}", err=True)
    emit(result, MEASUREMENT)
