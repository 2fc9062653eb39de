"""Commands that compare two curves: change of one airframe, contrast of two groups."""

from __future__ import annotations

from typing import Unpack

import click

from fleetcal.cli.option_types import Days, Period
from fleetcal.cli.options import (
    group_argument,
    group_option,
    open_chosen_store,
    pool_options,
    step_option,
    tag_argument,
)
from fleetcal.cli.output import emit
from fleetcal.cli.quantity_option import (
    POSITION_ERROR,
    PooledOptions,
    kind_of,
    pool_request,
    pooled_options,
)
from fleetcal.cli.verbs import Verb


@click.command(cls=Verb, shared=("format", "details"))
@tag_argument("tags", metavar="[TAG]...", nargs=-1)
@click.option("--before", type=Days(), help="Compare these days, whatever was fitted ...")
@click.option("--after", type=Days(), help="... with these days.")
@group_option("--from", "from_group", help="Compare what was flown in this group ...")
@group_option("--to", "to_group", help="... with what was flown in this group.")
@pooled_options
def change(
    tags: tuple[str, ...],
    before: Period | None,
    after: Period | None,
    from_group: str | None,
    to_group: str | None,
    **pooled: Unpack[PooledOptions],
) -> None:
    """Tell whether a change of equipment changed how the airframe TAG reads or flies.

    Compares its two last fits, two periods, or two groups it was in. Gives the
    difference over the speed range, and which change the data would have shown.
    Three airframes and more that made the same change are pooled; without TAG, all
    that flew both groups.

    \b
    Example:
      fleetcal change C-12
      fleetcal change C-12 --before ..2023-05-31 --after 2023-06-01..
      fleetcal change C-05 C-12 C-17
      fleetcal change --from "fuselage side" --to "wing boom"
      fleetcal change C-12 --quantity cruise
    """
    if (before is None) != (after is None) or (from_group is None) != (to_group is None):
        raise click.UsageError("Give both --before and --after, or --from and --to, or none.")
    if before is not None and from_group is not None:
        raise click.UsageError("Give periods or groups, not both.")
    if not tags and from_group is None:
        raise click.UsageError("Name an airframe, or groups with --from and --to.")
    from fleetcal.cli.comparison_views import comparison_view
    from fleetcal.services.curves.check_change import Period as DaysFlown
    from fleetcal.services.curves.check_change import check_change

    periods = between = None
    if before is not None and after is not None:
        periods = (DaysFlown(*before), DaysFlown(*after))
    if from_group is not None and to_group is not None:
        between = (from_group, to_group)
    request = pool_request(pooled)
    with open_chosen_store() as store:
        found = check_change(store, tags, request, periods, between)
    emit(found, comparison_view(kind_of("change", pooled["quantity"])))


@click.command(cls=Verb, shared=("format", "details"))
@group_argument("first", metavar="GROUP")
@group_argument("second", metavar="[GROUP]", required=False)
@pooled_options
@pool_options
@step_option(help="Of the pairings of one static source: rows apart, kt; 10 if left out.")
def contrast(
    first: str,
    second: str | None,
    with_airframes: tuple[str, ...],
    without_airframes: tuple[str, ...],
    step: float | None,
    **pooled: Unpack[PooledOptions],
) -> None:
    """Compare the pooled curves of two groups, or the pairings of one static source.

    Of one static source alone, tell whether its engine and propeller pairings differ:
    the correction of each pairing by its own airframes alone, and drawn towards the
    curve of all as far as pairings are seen to be alike.

    \b
    Example:
      fleetcal contrast "wing boom" "tail-boom flush pair"
      fleetcal contrast "wing boom"
      fleetcal contrast "four / two-blade fixed" "four / three-blade" --quantity glide
    """
    if second is not None and step is not None:
        raise click.UsageError("'--step' is for the pairings of one static source.")
    quantity = pooled["quantity"]
    if second is None and quantity != POSITION_ERROR:
        raise click.UsageError(f"Name two pairings for '--quantity {quantity}'.")
    from fleetcal.cli.comparison_views import PAIRINGS, comparison_view
    from fleetcal.services.curves.contrast_groups import contrast_groups
    from fleetcal.services.curves.member_choice import MemberChoice
    from fleetcal.services.curves.pairings import compare_pairings

    request = pool_request(pooled, MemberChoice(with_airframes, without_airframes))
    with open_chosen_store() as store:
        if second is None:
            emit(compare_pairings(store, first, request, step or 10.0), PAIRINGS)
        else:
            found = contrast_groups(store, first, second, request)
            emit(found, comparison_view(kind_of("contrast", quantity)))
