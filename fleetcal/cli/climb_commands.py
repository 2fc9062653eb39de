"""Commands on climbs and glides."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import click

from fleetcal.cli.failure import one_line
from fleetcal.cli.flight_options import FigureFile, air_options, said_of_the_air
from fleetcal.cli.options import (
    Day,
    Number,
    chosen_members,
    existing_file,
    flap_option,
    open_chosen_store,
    pool_options,
    type_option,
)
from fleetcal.cli.verbs import VerbGroup

kind_option = click.option(
    "--kind", type=click.Choice(["climb", "glide"]), required=True, help="Climbs or glides."
)
power_option = click.option(
    "--power-state", metavar="TEXT", help="May be left out if there is one."
)


@click.group(cls=VerbGroup)
def climbs() -> None:
    """Measure climbs and glides, and pool them by engine and propeller.

    \b
    Example:
      fleetcal climbs reduce saw.csv --airframe C-07 --kind glide --power-state idle
      fleetcal climbs curve --kind glide
      fleetcal climbs standing C-07 --kind glide
    """


@climbs.command("reduce", shared=("format",))
@existing_file("log")
@click.option("--airframe", metavar="TAG", required=True, help="Tag of the airframe that flew.")
@kind_option
@click.option(
    "--power-state", metavar="TEXT", required=True, help="Tag, such as full power, idle, stopped."
)
@click.option(
    "--thrust-kw",
    "thrust_power_kw",
    type=Number(0.1, 10000.0),
    help="Of climbs: shaft power times propeller efficiency, to about 10 %.",
)
@click.option(
    "--power-held", is_flag=True, help="A governor holds the power whatever the temperature."
)
@click.option("--weight-kg", type=Number(1.0, 100000.0), help="Weight, the same for all.")
@click.option(
    "--takeoff-weight-kg",
    type=Number(1.0, 100000.0),
    help="Weight at take-off, less the fuel used until then.",
)
@click.option(
    "--fuel-used-kg-per-h", type=Number(0.0, 10000.0), help="The log's fuel flow if left out."
)
@click.option("--date", "flown_on", type=Day(), help="Day of the flight, if the log has none.")
@click.option(
    "--mapping",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="TOML file that says what the headings of the log do not.",
)
@click.option(
    "--settings",
    "settings_file",
    type=click.Path(path_type=Path),
    help="TOML file of tolerances and assumed uncertainties.",
)
@click.option("--from-s", type=Number(0.0, 1e7), default=0.0, help="Leave out what begins before.")
@click.option("--to-s", type=Number(0.0, 1e7), help="Leave out what ends later, s of the log.")
@click.option(
    "--from-ft", type=Number(-2000.0, 60000.0), help="Lowest pressure altitude that counts."
)
@click.option("--to-ft", type=Number(-2000.0, 60000.0), help="Highest, of the same block.")
@click.option(
    "--allow-gradient-kt-per-1000ft",
    "gradient",
    type=Number(0.1, 50.0),
    help="Accept those flown one way too, with this standard uncertainty of the wind's change.",
)
@click.option(
    "--airspeed-from",
    type=click.Choice(["indicated_airspeed", "impact_pressure", "true_airspeed"]),
    help="Which airspeed of the log to use, if it has several that disagree.",
)
@air_options
@click.option("--note", default="", help="A note to keep with the sortie.")
@click.option("--preview", is_flag=True, help="Print the result, store nothing.")
@flap_option
def reduce_(
    log: Path,
    kind: str,
    power_state: str,
    thrust_power_kw: float | None,
    power_held: bool,
    from_s: float,
    to_s: float | None,
    from_ft: float | None,
    to_ft: float | None,
    gradient: float | None,
    settings_file: Path | None,
    flown_on: date | None,
    preview: bool,
    **details: Any,
) -> None:
    """Find steady climbs or glides in a recorded flight, reduce and store them.

    Those flown both ways, on opposite headings through one block of altitude at
    one airspeed, are joined and accepted; a wind that changes with height is not
    told from performance in those flown one way, which are kept but not accepted
    unless an allowance for that is given. Tolerances, such as how long a climb
    settles, are in the settings file ("fleetcal settings").

    \b
    Example:
      fleetcal climbs reduce saw.csv --airframe C-07 --kind glide --power-state idle
      fleetcal climbs reduce saw.csv --airframe C-07 --kind climb --power-state full --thrust-kw 52
      fleetcal climbs reduce saw.csv --airframe C-07 --kind glide --power-state idle --from-ft 3500
    """
    takeoff = details["takeoff_weight_kg"]
    if details["weight_kg"] is not None and takeoff is not None:
        raise click.UsageError("'--weight-kg' and '--takeoff-weight-kg' contradict each other")
    if details["fuel_used_kg_per_h"] is not None and takeoff is None:
        raise click.UsageError("'--fuel-used-kg-per-h' needs '--takeoff-weight-kg'")
    if from_ft is not None and to_ft is not None and from_ft >= to_ft:
        raise click.UsageError("'--from-ft' is not below '--to-ft'")
    from fleetcal.cli.climb_views import REDUCED_CLIMBS
    from fleetcal.cli.output import emit
    from fleetcal.services.flights.reduction import FlightDetails
    from fleetcal.services.flights.settings_file import read_settings
    from fleetcal.services.performance.reduce_climbs import ClimbTask, reduce_climbs

    endless = float("inf")
    task = ClimbTask(
        kind=kind,
        power_state=power_state,
        thrust_power_kw=thrust_power_kw,
        power_held=power_held,
        from_s=from_s,
        to_s=endless if to_s is None else to_s,
        from_ft=-endless if from_ft is None else from_ft,
        to_ft=endless if to_ft is None else to_ft,
        gradient_kt_per_1000ft=gradient,
    )
    air = said_of_the_air(details)
    asked = FlightDetails(flown_on=flown_on, air=air, **details)
    chosen = read_settings(settings_file)
    with open_chosen_store() as store:
        result = reduce_climbs(store, log, asked, task=task, settings=chosen, preview=preview)
    for warning in result.warnings:
        click.echo(f"Warning: {one_line(warning)}", err=True)
    emit(result, REDUCED_CLIMBS)


@climbs.command(shared=("format",))
@click.argument("pairing", required=False)
@kind_option
@power_option
@click.option(
    "--step-kt", type=Number(0.5, 100.0), default=5.0, show_default=True, help="Rows apart."
)
@pool_options
@flap_option
@type_option
@click.option("--figure", type=FigureFile(), help="Draw it too, as .svg, .png or .pdf.")
def curve(
    pairing: str | None,
    type_name: str | None,
    figure: Path | None,
    **options: Any,
) -> None:
    """Pool the climbs or glides of a PAIRING ("engine / propeller"), and tell its best speeds.

    The pooled curve of each airframe's static source turns IAS into CAS. Rates are
    for reference weight and standard air at the altitude where they were flown.

    \b
    Example:
      fleetcal climbs curve --kind glide
      fleetcal climbs curve "75 kW four / two-blade fixed" --kind climb --power-state "full power"
    """
    from fleetcal.cli.climb_views import POOLED_CLIMBS
    from fleetcal.cli.output import emit
    from fleetcal.services.performance.climb_groups import ClimbRequest
    from fleetcal.services.performance.pool_climbs import pool_climbs

    choice = chosen_members(options)
    request = ClimbRequest(pairing=pairing, type=type_name, choice=choice, **options)
    with open_chosen_store() as store:
        emit(pool_climbs(store, request, figure), POOLED_CLIMBS)
