"""Commands on climbs and glides."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, TypedDict, Unpack

import click

from fleetcal.cli.options import (
    PoolOptions,
    chosen_members,
    figure_option,
    flap_option,
    open_chosen_store,
    pool_options,
    step_option,
    type_option,
)
from fleetcal.cli.verbs import VerbGroup

if TYPE_CHECKING:
    from fleetcal.services.curves.member_choice import MemberChoice
    from fleetcal.services.curves.quantity import PoolRequest

kind_option = click.option(
    "--quantity",
    "kind",
    type=click.Choice(["climb", "glide"]),
    required=True,
    help="Climbs or glides.",
)
power_option = click.option(
    "--power-state", metavar="TEXT", help="May be left out if there is one."
)


@click.group(cls=VerbGroup)
def climbs() -> None:
    """Measure climbs and glides, and pool them by engine and propeller.

    \b
    Example:
      fleetcal climbs curve --quantity glide
      fleetcal climbs standing C-07 --quantity glide
    """


class ChosenClimbs(TypedDict):
    """Options that choose climbs or glides, besides the type."""

    flap_setting: str
    power_state: str | None
    kind: str


class ClimbOptions(ChosenClimbs, PoolOptions):
    """What is asked of pooled climbs or glides."""

    kind: str
    power_state: str | None
    step_kt: float
    flap_setting: str


@climbs.command(shared=("format",))
@click.argument("pairing", required=False)
@kind_option
@power_option
@step_option("step_kt", default=5.0, show_default=True, help="Rows apart, kt.")
@pool_options
@flap_option
@type_option
@figure_option
def curve(
    pairing: str | None,
    type_name: str | None,
    figure: Path | None,
    **options: Unpack[ClimbOptions],
) -> None:
    """Pool the climbs or glides of a PAIRING ("engine / propeller"), and give its best speeds.

    The pooled curve of each airframe's static source turns IAS into CAS. Rates are
    for reference weight and standard air at the altitude where they were flown.

    \b
    Example:
      fleetcal climbs curve --quantity glide
      fleetcal climbs curve "75 kW four / two-blade fixed" --quantity climb --power-state full
    """
    from fleetcal.cli.climb_views import POOLED_CLIMBS
    from fleetcal.cli.output import emit
    from fleetcal.services.performance.pool_climbs import pool_climbs

    request = climb_request(type_name, options, chosen_members(options))
    with open_chosen_store() as store:
        emit(pool_climbs(store, request, pairing, options["step_kt"], figure), POOLED_CLIMBS)


def climb_request(
    type_name: str | None, options: ChosenClimbs, choice: MemberChoice | None = None
) -> PoolRequest:
    """Return which climbs or glides the options ask for."""
    from fleetcal.services.curves.member_choice import MemberChoice
    from fleetcal.services.curves.quantity import PoolRequest
    from fleetcal.services.performance.quantities import quantity_named

    return PoolRequest(
        quantity=quantity_named(options["kind"]),
        type=type_name,
        flap_setting=options["flap_setting"],
        power_state=options["power_state"],
        choice=choice or MemberChoice(),
    )
