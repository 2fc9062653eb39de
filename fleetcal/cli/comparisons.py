"""Commands that compare two curves: change of one airframe, contrast of two groups."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Unpack

import click

from fleetcal.cli.left_out_words import left_out_head
from fleetcal.cli.option_types import Days
from fleetcal.cli.options import (
    PoolOptions,
    chosen_members,
    flap_option,
    open_chosen_store,
    pool_options,
    step_option,
    type_option,
)
from fleetcal.cli.verbs import Verb

if TYPE_CHECKING:
    from fleetcal.cli.option_types import Period as DaySpan
    from fleetcal.cli.output import View
    from fleetcal.services.curves.check_change import Period
    from fleetcal.services.curves.compare_curves import Comparison
    from fleetcal.services.curves.pairings import Pairings
    from fleetcal.services.curves.quantity import PoolRequest


def sides_asked(
    tags: tuple[str, ...],
    before: DaySpan | None,
    after: DaySpan | None,
    from_group: str | None,
    to_group: str | None,
) -> tuple[tuple[Period, Period] | None, tuple[str, str] | None]:
    """Return the periods or the groups to compare, or fail with the usage."""
    from fleetcal.services.curves.check_change import Period

    if (before is None) != (after is None) or (from_group is None) != (to_group is None):
        raise click.UsageError("Give both --before and --after, or --from and --to, or none.")
    if before is not None and from_group is not None:
        raise click.UsageError("Give periods or groups, not both.")
    if not tags and from_group is None:
        raise click.UsageError("Name an airframe, or groups with --from and --to.")
    periods = None if before is None or after is None else (Period(*before), Period(*after))
    between = None if from_group is None or to_group is None else (from_group, to_group)
    return periods, between


@click.command(cls=Verb, shared=("format",))
@click.argument("tags", metavar="[TAG]...", nargs=-1)
@click.option("--before", type=Days(), help="Compare these days, whatever was fitted ...")
@click.option("--after", type=Days(), help="... with these days.")
@click.option("--from", "from_group", metavar="GROUP", help="Compare points in this group ...")
@click.option("--to", "to_group", metavar="GROUP", help="... with points in this group.")
@flap_option
def change(
    tags: tuple[str, ...],
    before: DaySpan | None,
    after: DaySpan | None,
    from_group: str | None,
    to_group: str | None,
    flap_setting: str,
) -> None:
    """Tell whether a change of equipment changed the error of the airframe TAG.

    Compares the points of its two last fits, of two periods, or of two groups it
    was in. Gives the difference over the speed range, and which change the data
    would have shown. Three airframes and more that made the same change are
    pooled; without TAG, all that flew both groups.

    \b
    Example:
      fleetcal change C-12
      fleetcal change C-12 --before ..2023-05-31 --after 2023-06-01..
      fleetcal change C-05 C-12 C-17
      fleetcal change --from "fuselage side" --to "wing boom"
    """
    from fleetcal.cli.output import emit
    from fleetcal.services.curves.check_change import check_change
    from fleetcal.services.curves.position_error import POSITION_ERROR
    from fleetcal.services.curves.quantity import PoolRequest

    request = PoolRequest(quantity=POSITION_ERROR, flap_setting=flap_setting)
    periods, between = sides_asked(tags, before, after, from_group, to_group)
    with open_chosen_store() as store:
        found = check_change(store, tags, request, periods, between)
    emit(found, comparison_view("change"))


@click.command(cls=Verb, shared=("format",))
@click.argument("first", metavar="GROUP")
@click.argument("second", metavar="[GROUP]", required=False)
@type_option
@flap_option
@step_option(help="Of the pairings of one static source: rows apart, kt; 10 if left out.")
@pool_options
def contrast(
    first: str,
    second: str | None,
    type_name: str | None,
    flap_setting: str,
    step: float | None,
    **pool: Unpack[PoolOptions],
) -> None:
    """Compare the pooled curves of two groups, or the pairings of one static source.

    Of one static source alone, tell whether its engine and propeller pairings differ:
    the correction of each pairing by its own airframes alone, and drawn towards the
    curve of all as far as pairings are seen to be alike.

    \b
    Example:
      fleetcal contrast "wing boom" "tail-boom flush pair"
      fleetcal contrast "wing boom"
    """
    from fleetcal.cli.output import emit
    from fleetcal.services.curves.contrast_groups import contrast_groups
    from fleetcal.services.curves.pairings import compare_pairings

    request = _position_errors(type_name, flap_setting, pool)
    if second is not None and step is not None:
        raise click.UsageError("'--step' is for the pairings of one static source.")
    with open_chosen_store() as store:
        if second is None:
            emit(compare_pairings(store, first, request, step or 10.0), _pairings_view())
            return
        found = contrast_groups(store, first, second, request)
    emit(found, comparison_view("contrast"))


def _pairings_view() -> View[Pairings]:
    from fleetcal.cli.output import Column, View

    numbers = ("own_kt", "own_low_kt", "own_high_kt", "shrunk_kt", "shrunk_low_kt")
    columns = [Column("pairing"), Column("ias_kt", 0), Column("airframes")]
    columns += [Column(name, 1, sign=True) for name in (*numbers, "shrunk_high_kt")]
    return View(
        kind="pairings",
        rows="rows",
        columns=columns,
        head=_port_head,
        foot=_port_foot,
        cautioned=True,
        tells_of="curve",
    )


def _position_errors(type_name: str | None, flap_setting: str, pool: PoolOptions) -> PoolRequest:
    from fleetcal.services.curves.position_error import POSITION_ERROR
    from fleetcal.services.curves.quantity import PoolRequest

    return PoolRequest(
        quantity=POSITION_ERROR,
        type=type_name,
        flap_setting=flap_setting,
        choice=chosen_members(pool),
    )


def _port_head(found: Pairings) -> Iterator[str]:
    yield (
        f"{found.static_source}, flaps {found.flap_setting}; airspeeds are IAS at "
        f"{found.weight_kg:.0f} kg"
    )
    yield from left_out_head(found)
    yield "own: by its own airframes; shrunk: with what the port's other pairings say"


def _port_foot(found: Pairings) -> Iterator[str]:
    yield f"{found.verdict[0].upper()}{found.verdict[1:]}."
    yield f"Model: {found.model}."
    for sentence in found.left_out:
        yield f"Left out: {sentence}"


def comparison_view(kind: str) -> View[Comparison]:
    """Return how two curves compared are printed."""
    from fleetcal.cli.output import Column, View

    signed = ("first", "second", "difference", "low", "high")
    return View(
        kind=kind,
        rows="rows",
        columns=[
            Column("speed_kt", 0),
            *(Column(name, sign=True, in_unit=True) for name in signed),
            Column("smallest_shown", in_unit=True),
        ],
        head=comparison_head,
        foot=comparison_foot,
        cautioned=True,
    )


def comparison_head(found: Comparison) -> Iterator[str]:
    """Tell what was compared."""
    weight = f"{found.weight_kg:.0f} kg"
    yield f"{found.question}, flaps {found.flap_setting}, {weight}: airspeeds are at that weight"
    for place, side in (("first", found.first), ("second", found.second)):
        yield (
            f"{place}: {side.name}: points {side.points}, sorties {side.sorties}, "
            f"airframes {side.airframes}"
        )
    yield from left_out_head(found)
    if found.altitude_ft is not None:
        from fleetcal.cli.views import numbers_head

        yield numbers_head(found)


def comparison_foot(found: Comparison) -> Iterator[str]:
    """Tell the verdict, the model and doubts."""
    yield f"{found.verdict[0].upper()}{found.verdict[1:]}."
    for sentence in found.each:
        yield f"By itself: {sentence}."
    yield f"Model: {found.model}."
    for sentence in found.doubts:
        yield f"Doubt: {sentence}."
    for note in found.notes:
        yield f"Note: {note}."
