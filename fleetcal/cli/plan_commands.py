"""The command that plans the next flight."""

from __future__ import annotations

from typing import Any

import click

from fleetcal.cli.options import Number, flap_option, format_option, open_chosen_store


@click.command()
@click.argument("airframe", metavar="TAG")
@click.option(
    "--points", type=click.IntRange(1, 20), default=4, show_default=True, help="Runs to fly."
)
@click.option(
    "--weight-kg", type=Number(1.0, 100000.0), help="Expected; the reference weight if left out."
)
@click.option(
    "--altitude-ft",
    type=Number(0.0, 20000.0),
    default=4000.0,
    show_default=True,
    help="Pressure altitude, for the card.",
)
@click.option("--wind-from-deg", type=Number(0.0, 360.0), help="Expected, for the tracks.")
@flap_option
@format_option
def plan(airframe: str, output_format: str, **options: Any) -> None:
    """Plan the next flight of the airframe TAG: the speeds that narrow its own curve most.

    From what is known of the airframe and its group, run after run is chosen so
    that the largest band of the airframe's own correction becomes smallest. No
    speed below 1.3 times the stall speed or beyond what the group flew is proposed.

    \b
    Example:
      fleetcal plan C-07
      fleetcal plan C-07 --points 6 --wind-from-deg 240 --weight-kg 560
    """
    from fleetcal.cli.climb_views import PLAN
    from fleetcal.cli.output import emit
    from fleetcal.services.performance.plan_flight import PlanRequest, plan_flight

    with open_chosen_store() as store:
        emit(plan_flight(store, PlanRequest(airframe, **options)), PLAN, output_format)
