"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from fleetcal.services.chosen_store import Store

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


format_option = click.option(
    "--format",
    "output_format",
    type=click.Choice(["table", "csv", "json"]),
    default="table",
    show_default=True,
    help="How to print the result.",
)
type_option = click.option(
    "--type", "type_name", metavar="NAME", help="Aircraft type; may be left out if there is one."
)
flap_option = click.option(
    "--flap-setting", default="up", show_default=True, metavar="TEXT", help="Flap setting."
)


def existing_file(name: str) -> Callable[[Command], Command]:
    """Return an argument that takes a path; reading it explains what is wrong with it."""
    return click.argument(name, type=click.Path(path_type=Path))


def open_chosen_store(*, create: bool = False) -> Store:
    """Open the store that the program was told to use.

    Parameters
    ----------
    create : bool
        Whether a missing store is made.

    Returns
    -------
    Store
    """
    from fleetcal.services.chosen_store import open_store

    where = click.get_current_context().find_root().params.get("store")
    return open_store(where, create=create)
