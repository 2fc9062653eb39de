"""Commands that compare two curves: change of one airframe, contrast of two groups."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import click

from fleetcal.cli.options import flap_option, format_option, open_chosen_store, type_option


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


@click.command()
@click.argument("tag")
@click.option("--before", type=Days(), help="Compare these days, whatever was fitted ...")
@click.option("--after", type=Days(), help="... with these days.")
@flap_option
@format_option
def change(tag: str, before: Any, after: Any, flap_setting: str, output_format: str) -> None:
    """Tell whether a change of equipment changed the error of the airframe TAG.

    Compares the points of its two last fits, or of two periods. Tells the
    difference over the speed range, and which change the data would have shown.

    \b
    Example:
      fleetcal change C-12
      fleetcal change C-12 --before ..2023-05-31 --after 2023-06-01..
    """
    from fleetcal.cli.output import emit
    from fleetcal.services.curves.check_change import Period, check_change

    if (before is None) != (after is None):
        raise click.UsageError("Give both --before and --after, or neither.")
    periods = None if before is None else (Period(*before), Period(*after))
    with open_chosen_store() as store:
        found = check_change(store, tag, flap_setting, periods)
    emit(found, _view("change"), output_format)


@click.command()
@click.argument("first", metavar="GROUP")
@click.argument("second", metavar="GROUP")
@type_option
@flap_option
@format_option
def contrast(
    first: str, second: str, type_name: str | None, flap_setting: str, output_format: str
) -> None:
    """Compare the pooled curves of two groups: port with port, pairing with pairing.

    \b
    Example:
      fleetcal contrast "wing boom" "tail-boom flush pair"
    """
    from fleetcal.cli.output import emit
    from fleetcal.services.curves.contrast_groups import contrast_groups

    with open_chosen_store() as store:
        found = contrast_groups(store, first, second, type_name, flap_setting)
    emit(found, _view("contrast"), output_format)


def _view(kind: str) -> Any:
    from fleetcal.cli.output import Column, View

    return View(
        kind,
        "rows",
        [
            Column("ias_kt", 0),
            Column("first_kt", 1, sign=True),
            Column("second_kt", 1, sign=True),
            Column("difference_kt", 1, sign=True),
            Column("low_kt", 1, sign=True),
            Column("high_kt", 1, sign=True),
            Column("smallest_shown_kt", 1),
        ],
        head=_head,
        foot=_foot,
        cautioned=True,
    )


def _head(found: Any) -> Iterator[str]:
    yield f"{found.question}, flaps {found.flap_setting}, {found.weight_kg:.0f} kg"
    for place, side in (("first", found.first), ("second", found.second)):
        yield (
            f"{place}: {side.name}: {side.points} points of {side.sorties} sorties, "
            f"airframes: {side.airframes}"
        )


def _foot(found: Any) -> Iterator[str]:
    yield f"{found.verdict[0].upper()}{found.verdict[1:]}."
    yield f"Model: {found.model}."
    for sentence in found.doubts:
        yield f"Doubt: {sentence}."
