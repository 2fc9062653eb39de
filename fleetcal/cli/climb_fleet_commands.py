"""Commands on climbs and glides across the fleet, in the way of those on the position error."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Unpack

import click

from fleetcal.cli.climb_commands import ChosenClimbs, climb_request, kind_option, power_option
from fleetcal.cli.climb_store_commands import climbs
from fleetcal.cli.comparisons import comparison_view, sides_asked
from fleetcal.cli.fleet_curves import emit_judgement, fail_option
from fleetcal.cli.option_types import Days
from fleetcal.cli.options import (
    Command,
    PoolOptions,
    chosen_members,
    figure_option,
    flap_option,
    open_chosen_store,
    pool_options,
    type_option,
)

if TYPE_CHECKING:
    from fleetcal.cli.option_types import Period as DaySpan


__all__ = ["climbs"]


class ChosenPool(ChosenClimbs, PoolOptions):
    """The same with the options of the pool."""


def _which(command: Command) -> Command:
    """Add the options that choose climbs or glides."""
    for option in (type_option, flap_option, power_option, kind_option):
        command = option(command)
    return command


@climbs.command(shared=("format",))
@click.argument("tag")
@_which
@fail_option
@figure_option
def standing(
    tag: str,
    figure: Path | None,
    fail_if_outside: bool,
    type_name: str | None,
    **which: Unpack[ChosenClimbs],
) -> None:
    """Tell whether the airframe TAG climbs or glides as the others of its pairing.

    \b
    Example:
      fleetcal climbs standing C-07 --quantity glide
      fleetcal climbs standing C-07 --quantity climb --power-state "full power" --out C-07.svg
    """
    from fleetcal.cli.views import STANDING
    from fleetcal.services.curves.judge_airframes import judge_airframe

    with open_chosen_store() as store:
        judged = judge_airframe(store, tag, climb_request(type_name, which), figure)
    emit_judgement(judged, STANDING, fail_if_outside)


@climbs.command(shared=("format",))
@click.argument("pairing", required=False)
@_which
@fail_option
def outliers(
    pairing: str | None,
    fail_if_outside: bool,
    type_name: str | None,
    **which: Unpack[ChosenClimbs],
) -> None:
    """Judge every airframe by its climbs or glides, and name those outside their PAIRING.

    \b
    Example:
      fleetcal climbs outliers --quantity glide
    """
    from fleetcal.cli.views import OUTLIERS
    from fleetcal.services.curves.judge_airframes import judge_airframes

    with open_chosen_store() as store:
        judged = judge_airframes(store, climb_request(type_name, which), pairing)
    emit_judgement(judged, OUTLIERS, fail_if_outside)


@climbs.command(shared=("format",))
@click.argument("tags", metavar="[TAG]...", nargs=-1)
@click.option("--before", type=Days(), help="Compare these days, whatever was fitted ...")
@click.option("--after", type=Days(), help="... with these days.")
@click.option("--from", "from_pairing", metavar="PAIRING", help="Compare flights with this ...")
@click.option("--to", "to_pairing", metavar="PAIRING", help="... and with this pairing.")
@_which
def change(
    tags: tuple[str, ...],
    before: DaySpan | None,
    after: DaySpan | None,
    from_pairing: str | None,
    to_pairing: str | None,
    type_name: str | None,
    **which: Unpack[ChosenClimbs],
) -> None:
    """Tell whether a modification changed how the airframe TAG climbs or glides.

    Compares its two last fits, two periods, or two pairings it had. Three airframes
    and more that made the same change are pooled; without TAG, all that flew both.

    \b
    Example:
      fleetcal climbs change C-12 --quantity glide
      fleetcal climbs change C-12 --quantity climb --before ..2023-05-31 --after 2023-06-01..
    """
    from fleetcal.cli.output import emit
    from fleetcal.services.curves.check_change import check_change

    periods, between = sides_asked(tags, before, after, from_pairing, to_pairing)
    request = climb_request(type_name, which)
    with open_chosen_store() as store:
        found = check_change(store, tags, request, periods, between)
    emit(found, comparison_view("climb_change"))


@climbs.command(shared=("format",))
@click.argument("first", metavar="PAIRING")
@click.argument("second", metavar="PAIRING")
@pool_options
@_which
def contrast(first: str, second: str, type_name: str | None, **options: Unpack[ChosenPool]) -> None:
    """Compare the pooled climbs or glides of two PAIRINGS: does the propeller matter.

    \b
    Example:
      fleetcal climbs contrast "four / two-blade fixed" "four / three-blade" --quantity glide
    """
    from fleetcal.cli.output import emit
    from fleetcal.services.curves.contrast_groups import contrast_groups

    request = climb_request(type_name, options, chosen_members(options))
    with open_chosen_store() as store:
        found = contrast_groups(store, first, second, request)
    emit(found, comparison_view("climb_contrast"))
