"""Options that several commands share."""

from __future__ import annotations

import math
import os
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fleetcal.cli.shared_options import chosen, named

if TYPE_CHECKING:
    from fleetcal.services.chosen_store import Store
    from fleetcal.services.curves.pool_members import MemberChoice

Command = TypeVar("Command", bound=Callable[..., Any])


class Day(click.ParamType[date]):
    """A date written YYYY-MM-DD."""

    name = "YYYY-MM-DD"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """Return the date, or fail with the usage."""
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(str(value))
        except ValueError:
            self.fail(f"{value!r} is not a date; write YYYY-MM-DD", param, ctx)


class Number(click.FloatRange):
    """A number within limits; click alone would let NaN through."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the number, or fail with the usage."""
        number = float(super().convert(value, param, ctx))
        if math.isnan(number):
            self.fail(f"{value!r} is not a number", param, ctx)
        return number


type_option = click.option(
    "--type", "type_name", metavar="NAME", help="Aircraft type; may be left out if there is one."
)
flap_option = click.option(
    "--flap-setting", default="up", show_default=True, metavar="TEXT", help="Flap setting."
)

order_option = click.option("--order", type=click.IntRange(0, 2), help="Order of the curve.")
altitude_option = click.option(
    "--altitude-ft",
    type=Number(-1000.0, 30000.0),
    default=0.0,
    show_default=True,
    help="Pressure altitude for the altimeter correction.",
)
table_weight_option = click.option(
    "--weight-kg",
    type=Number(1.0, 100000.0),
    help="Weight for the airspeeds; the type's reference weight if left out.",
)


def pool_options(command: Command) -> Command:
    """Add the options that say which airframes are in the pool."""
    for option in (
        click.option(
            "--without",
            "without_airframes",
            metavar="TAG",
            multiple=True,
            help="Take this airframe out of the pool; may be given several times.",
        ),
        click.option(
            "--with",
            "with_airframes",
            metavar="TAG",
            multiple=True,
            help="Keep this airframe in the pool even if it stands outside; several times too.",
        ),
    ):
        command = option(command)
    return command


def chosen_members(options: dict[str, Any]) -> MemberChoice:
    """Take the options of `pool_options` out, as what a service wants."""
    from fleetcal.services.curves.pool_members import MemberChoice

    return MemberChoice(options.pop("with_airframes"), options.pop("without_airframes"))


def existing_file(name: str) -> Callable[[Command], Command]:
    """Return an argument that takes a path; reading it explains what is wrong with it."""
    return click.argument(name, type=click.Path(path_type=Path))


def chosen_place() -> str | None:
    """Return where the program was told to find its store, None for the usual place."""
    from fleetcal.services.chosen_store import acting_as, telling

    telling(lambda note: click.echo(f"Upgrade of the store: {note}.", err=True))
    context = click.get_current_context()
    acting_as(context.command_path.partition(" ")[2] or context.command_path)
    where: str | None = chosen("store")
    return where or os.environ.get("FLEETCAL_STORE") or None


def program_words() -> tuple[str, ...]:
    """Return how the program was called, with the store if it was named in the command."""
    return ("fleetcal", "--store", chosen("store")) if named("store") else ("fleetcal",)


def open_chosen_store() -> Store:
    """Open the store that the program was told to use; it must be there."""
    from fleetcal.services.chosen_store import open_store

    return open_store(chosen_place(), create=False)
