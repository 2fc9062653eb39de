"""Commands that compare two curves: change of one airframe, contrast of two groups."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import click

from fleetcal.cli.left_out_words import left_out_head
from fleetcal.cli.options import (
    chosen_members,
    flap_option,
    open_chosen_store,
    pool_options,
    type_option,
)
from fleetcal.cli.verbs import Verb

if TYPE_CHECKING:
    from fleetcal.cli.output import View
    from fleetcal.services.curves.compare_curves import Comparison
    from fleetcal.services.curves.pairings import Pairings
    from fleetcal.services.performance.climb_verdicts import ClimbComparison


class Days(click.ParamType[tuple[Any, Any]]):
    """A period written FROM..TO, either end may be left out."""

    name = "FROM..TO"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[Any, Any]:
        """Return the two days, None where left out, or fail with the usage."""
        from datetime import date

        if isinstance(value, tuple):
            return value
        start, dots, stop = str(value).partition("..")
        try:
            days = tuple(date.fromisoformat(t) if t else None for t in (start, stop))
        except ValueError:
            dots = ""
        if not dots:
            self.fail(f"{value!r} is not a period; write 2024-01-01..2024-06-30", param, ctx)
        return days[0], days[1]


def sides_asked(
    tags: tuple[str, ...], before: Any, after: Any, from_group: str | None, to_group: str | None
) -> tuple[Any, Any]:
    """Return the periods or the groups to compare, or fail with the usage."""
    from fleetcal.services.curves.check_change import Period

    if (before is None) != (after is None) or (from_group is None) != (to_group is None):
        raise click.UsageError("Give both --before and --after, or --from and --to, or none.")
    if before is not None and from_group is not None:
        raise click.UsageError("Give periods or groups, not both.")
    if not tags and from_group is None:
        raise click.UsageError("Name an airframe, or groups with --from and --to.")
    periods = None if before is None else (Period(*before), Period(*after))
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
    before: Any,
    after: Any,
    from_group: str | None,
    to_group: str | None,
    flap_setting: str,
) -> None:
    """Tell whether a change of equipment changed the error of the airframe TAG.

    Compares the points of its two last fits, of two periods, or of two groups it
    was in. Tells the difference over the speed range, and which change the data
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

    periods, between = sides_asked(tags, before, after, from_group, to_group)
    with open_chosen_store() as store:
        found = check_change(store, tags, flap_setting, periods, between)
    emit(found, _view("change"))


@click.command(cls=Verb, shared=("format",))
@click.argument("first", metavar="GROUP")
@click.argument("second", metavar="GROUP")
@type_option
@flap_option
@pool_options
def contrast(
    first: str,
    second: str,
    type_name: str | None,
    flap_setting: str,
    **pool: Any,
) -> None:
    """Compare the pooled curves of two groups: port with port, pairing with pairing.

    \b
    Example:
      fleetcal contrast "wing boom" "tail-boom flush pair"
    """
    from fleetcal.cli.output import emit
    from fleetcal.services.curves.contrast_groups import contrast_groups

    with open_chosen_store() as store:
        found = contrast_groups(
            store,
            first,
            second,
            type_name=type_name,
            flap_setting=flap_setting,
            choice=chosen_members(pool),
        )
    emit(found, _view("contrast"))


@click.command(cls=Verb, shared=("format",))
@click.argument("port", metavar="PORT")
@type_option
@flap_option
@click.option("--step-kt", type=float, default=10.0, show_default=True, help="Step of speed.")
@pool_options
def pairings(
    port: str,
    type_name: str | None,
    flap_setting: str,
    step_kt: float,
    **pool: Any,
) -> None:
    """Tell whether engine and propeller pairings of one static source PORT differ.

    Shows the correction of each pairing twice: by its own airframes alone, and
    drawn towards the port's curve as far as pairings are seen to be alike.

    \b
    Example:
      fleetcal pairings "wing boom"
    """
    from fleetcal.cli.output import Column, View, emit
    from fleetcal.services.curves.pairings import compare_pairings

    with open_chosen_store() as store:
        found = compare_pairings(
            store,
            port,
            type_name,
            flap_setting=flap_setting,
            step_kt=step_kt,
            choice=chosen_members(pool),
        )
    numbers = ("own_kt", "own_low_kt", "own_high_kt", "shrunk_kt", "shrunk_low_kt")
    columns = [Column("pairing"), Column("ias_kt", 0), Column("airframes")]
    columns += [Column(name, 1, sign=True) for name in (*numbers, "shrunk_high_kt")]
    view = View(
        kind="pairings",
        rows="rows",
        columns=columns,
        head=_port_head,
        foot=_port_foot,
        cautioned=True,
        tells_of="curve",
    )
    emit(found, view)


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


def _view(kind: str) -> View[Comparison]:
    from fleetcal.cli.output import Column, View

    return View(
        kind=kind,
        rows="rows",
        columns=[
            Column("ias_kt", 0),
            Column("first_kt", 1, sign=True),
            Column("second_kt", 1, sign=True),
            Column("difference_kt", 1, sign=True),
            Column("low_kt", 1, sign=True),
            Column("high_kt", 1, sign=True),
            Column("smallest_shown_kt", 1),
        ],
        head=comparison_head,
        foot=comparison_foot,
        cautioned=True,
        tells_of="curve",
    )


def comparison_head(found: Comparison | ClimbComparison) -> Iterator[str]:
    """Tell what was compared."""
    weight = f"{found.weight_kg:.0f} kg"
    yield f"{found.question}, flaps {found.flap_setting}, {weight}: airspeeds are at that weight"
    for place, side in (("first", found.first), ("second", found.second)):
        yield (
            f"{place}: {side.name}: points {side.points}, sorties {side.sorties}, "
            f"airframes {side.airframes}"
        )
    yield from left_out_head(found)


def comparison_foot(found: Comparison | ClimbComparison) -> Iterator[str]:
    """Tell the verdict, the model and doubts."""
    yield f"{found.verdict[0].upper()}{found.verdict[1:]}."
    for sentence in found.each:
        yield f"By itself: {sentence}."
    yield f"Model: {found.model}."
    for sentence in found.doubts:
        yield f"Doubt: {sentence}."
