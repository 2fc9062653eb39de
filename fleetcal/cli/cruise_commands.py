"""Commands on level flight at a known power."""

from __future__ import annotations

import click

from fleetcal.cli.option_types import Number
from fleetcal.cli.options import (
    flap_option,
    open_chosen_store,
    type_option,
)
from fleetcal.cli.verbs import VerbGroup


@click.group(cls=VerbGroup)
def cruise() -> None:
    """Compare true airspeed in cruise with the handbook's, from runs whose power is known.

    \b
    Example:
      fleetcal power 12 13 --power-pct 65
      fleetcal cruise table "75 kW four / two-blade fixed"
      fleetcal cruise table --airframe C-07
    """


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
    help="Add this power; may be repeated.",
)
@click.option(
    "--altitude-ft",
    type=Number(-2000.0, 40000.0),
    multiple=True,
    help="Add this pressure altitude; may be repeated.",
)
@flap_option
@type_option
def table(
    pairing: str | None,
    power_pct: tuple[float, ...],
    altitude_ft: tuple[float, ...],
    airframe: str | None,
    flap_setting: str,
    type_name: str | None,
) -> None:
    """Print the true airspeed of a PAIRING ('engine / propeller') in standard air.

    At the powers, altitudes and weight of the handbook's cruise tables, each next to
    the handbook's value (enter them as cruise_table in the fleet file), or at
    those asked for. Level flight at all altitudes and weights falls on one line of
    generalised power; no value is given at speeds that nobody flew.

    \b
    Example:
      fleetcal cruise table
      fleetcal cruise table "75 kW four / two-blade fixed" --power-pct 65 --altitude-ft 8000
      fleetcal cruise table --airframe C-07 --format csv
    """
    from fleetcal.cli.cruise_views import CRUISE_TABLE
    from fleetcal.cli.output import emit
    from fleetcal.services.performance.cruise_flown import CruiseRequest
    from fleetcal.services.performance.cruise_table import cruise_table

    request = CruiseRequest(
        pairing=pairing,
        type=type_name,
        power_pct=power_pct,
        altitude_ft=altitude_ft,
        airframe=airframe,
        flap_setting=flap_setting,
    )
    with open_chosen_store() as store:
        emit(cruise_table(store, request), CRUISE_TABLE)
