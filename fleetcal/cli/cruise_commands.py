"""Commands on level flight at a known power."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from fleetcal.cli.options import (
    Number,
    existing_file,
    flap_option,
    open_chosen_store,
    type_option,
)
from fleetcal.cli.verbs import VerbGroup
from fleetcal.wording import counted


@click.group(cls=VerbGroup)
def cruise() -> None:
    """Hold true airspeed in cruise beside the handbook's, from runs whose power is known.

    \b
    Example:
      fleetcal cruise note 12 13 --power-pct 65
      fleetcal cruise table "75 kW four / two-blade fixed"
      fleetcal cruise table --airframe C-07
    """


@cruise.command()
@click.argument("points", type=click.IntRange(min=1), nargs=-1, required=True, metavar="POINT...")
@click.option(
    "--power-pct", type=Number(5.0, 130.0), required=True, help="In % of the rated power."
)
@click.option(
    "--u-power-pct",
    type=Number(0.1, 30.0),
    default=3.0,
    show_default=True,
    help="Its standard uncertainty, in % of rated power; the default is common practice.",
)
@click.option(
    "--standard-air",
    is_flag=True,
    help="The power is a chart's at standard temperature, of a normally aspirated engine.",
)
@click.option("--note", default="", help="A note to keep with it.")
def note(
    points: tuple[int, ...], power_pct: float, u_power_pct: float, standard_air: bool, note: str
) -> None:
    """Note the power at which the runs of some POINTs were flown.

    Take it from the engine display, or from the engine's power chart with the rpm,
    manifold pressure or fuel flow you wrote down. A display that knows the air
    temperature shows the actual power. A chart for standard temperature does not:
    with --standard-air the power is multiplied by the root of standard over actual
    temperature (common practice, normally aspirated engines only). The numbers of
    the points are in 'fleetcal points list'; a power noted before is changed.

    \b
    Example:
      fleetcal cruise note 12 --power-pct 65
      fleetcal cruise note 14 15 --power-pct 75 --u-power-pct 2 --standard-air
    """
    from fleetcal.services.performance.note_power import note_power

    with open_chosen_store() as store:
        done = note_power(
            store, points, power_pct, u_power_pct=u_power_pct, standard_air=standard_air, note=note
        )
    click.echo(f"{counted(done.runs, 'run')} at {power_pct:g} %: {done.changed} new or changed")


@cruise.command("note-file")
@existing_file("file")
def note_file(file: Path) -> None:
    """Note the powers of many runs from a CSV FILE, all or none.

    Columns: point, power_pct; if wanted u_power_pct (3 if empty), basis (actual, or
    standard air, see 'cruise note') and note.

    \b
    Example:
      fleetcal cruise note-file powers.csv
    \b
    Example of a FILE:
      point,power_pct,basis
      12,65,actual
      13,75,standard air
    """
    from fleetcal.services.performance.note_power import note_powers_file

    with open_chosen_store() as store:
        done = note_powers_file(store, file)
    click.echo(f"{counted(done.runs, 'run')}: {done.changed} new or changed")


@cruise.command("note-log", shared=("format",))
@existing_file("log")
@click.option(
    "--column", "heading", metavar="TEXT", help="Its heading, if not the only one of percent power."
)
@click.option(
    "--u-power-pct",
    type=Number(0.1, 30.0),
    default=3.0,
    show_default=True,
    help="Standard uncertainty, in % of rated power; the default is common practice.",
)
@click.option("--standard-air", is_flag=True, help="As in 'cruise note'.")
@click.option(
    "--mapping",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The file that the log was reduced with.",
)
def note_log(
    log: Path,
    heading: str | None,
    u_power_pct: float,
    standard_air: bool,
    mapping: Path | None,
) -> None:
    """Note the power of the runs of a LOG, where its engine columns tell percent power.

    The log must have been reduced before: the file at hand, or the name of one that is
    kept. The power is the mean over the legs of a run, and is not noted where it changed.

    \b
    Example:
      fleetcal cruise note-log flight.csv
      fleetcal cruise note-log flight.csv --column "Eng Power (%)" --u-power-pct 2
    """
    from fleetcal.cli.cruise_views import LOGGED_POWERS
    from fleetcal.cli.output import emit
    from fleetcal.services.performance.power_from_log import LogColumn, note_powers_log

    column = LogColumn(heading, u_power_pct, standard_air, mapping)
    with open_chosen_store() as store:
        emit(note_powers_log(store, log, column), LOGGED_POWERS)


@cruise.command()
@click.argument("point", type=click.IntRange(min=1))
def forget(point: int) -> None:
    """Take the power of the run of a POINT out of the store.

    \b
    Example:
      fleetcal cruise forget 12
    """
    from fleetcal.services.performance.note_power import forget as forget_noted

    with open_chosen_store() as store:
        forget_noted(store, point)
    click.echo(f"the power of point {point} is forgotten")


@cruise.command("list", shared=("format",))
@type_option
def list_(type_name: str | None) -> None:
    """List the runs whose power is noted, brought to sea level and reference weight.

    VIW is the equivalent airspeed at reference weight, PIW the power at sea level
    and reference weight that belongs to it.

    \b
    Example:
      fleetcal cruise list --format csv
    """
    from fleetcal.cli.cruise_views import CRUISE_RUNS
    from fleetcal.cli.output import emit
    from fleetcal.services.performance.note_power import list_cruise

    with open_chosen_store() as store:
        emit(list_cruise(store, type_name), CRUISE_RUNS)


@cruise.command(shared=("format",))
@click.argument("pairing", required=False)
@click.option("--airframe", metavar="TAG", help="This airframe alone, without the others.")
@click.option(
    "--power-pct",
    type=Number(5.0, 130.0),
    multiple=True,
    help="Tell this power too; may be given again.",
)
@click.option(
    "--altitude-ft",
    type=Number(-2000.0, 40000.0),
    multiple=True,
    help="Tell this pressure altitude too; may be given again.",
)
@flap_option
@type_option
def table(
    pairing: str | None,
    power_pct: tuple[float, ...],
    altitude_ft: tuple[float, ...],
    type_name: str | None,
    **options: Any,
) -> None:
    """Tell the true airspeed of a PAIRING ('engine / propeller') in standard air.

    At the powers, altitudes and weight of the handbook's cruise tables, each with the
    handbook's value beside (enter them as cruise_table in the fleet file), or at
    those asked for. Level flight at all altitudes and weights falls on one line of
    generalised power; nothing is told at speeds that nobody flew.

    \b
    Example:
      fleetcal cruise table
      fleetcal cruise table "75 kW four / two-blade fixed" --power-pct 65 --altitude-ft 8000
      fleetcal cruise table --airframe C-07 --format csv
    """
    from fleetcal.cli.cruise_views import CRUISE_TABLE
    from fleetcal.cli.output import emit
    from fleetcal.services.performance.cruise_groups import CruiseRequest
    from fleetcal.services.performance.cruise_table import cruise_table

    request = CruiseRequest(
        pairing=pairing,
        type=type_name,
        power_pct=power_pct,
        altitude_ft=altitude_ft,
        **options,
    )
    with open_chosen_store() as store:
        emit(cruise_table(store, request), CRUISE_TABLE)
