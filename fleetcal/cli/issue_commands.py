"""Commands on issues of published tables."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcal.cli.option_types import Day
from fleetcal.cli.options import (
    FOLDER,
    flap_option,
    group_argument,
    open_chosen_store,
    reason_option,
    type_option,
)
from fleetcal.cli.output import say
from fleetcal.cli.printer import echo
from fleetcal.cli.publish_commands import today
from fleetcal.cli.verbs import VerbGroup

if TYPE_CHECKING:
    from fleetcal.services.chosen_store import IssueSeries, Store

_group_argument = group_argument("group")
_number_argument = click.argument("number", type=click.IntRange(1))


@click.group(cls=VerbGroup)
def issue() -> None:
    """See what changed between issues of a table, write one again, withdraw one.

    'fleetcal publish --issue' makes one, 'fleetcal show issues' lists them.

    \b
    Example:
      fleetcal issue compare "wing boom" 1 2
      fleetcal issue withdraw "wing boom" 1 --reason "a sortie was wrong"
    """


@issue.command(shared=("format",))
@_group_argument
@click.argument("first", type=click.IntRange(1))
@click.argument("second", type=click.IntRange(1))
@type_option
@flap_option
def compare(
    group: str,
    first: int,
    second: int,
    type_name: str | None,
    flap_setting: str,
) -> None:
    """Tell what changed from issue FIRST to issue SECOND of a GROUP's table, and why.

    \b
    Example:
      fleetcal issue compare "wing boom" 2 3
    """
    from fleetcal.cli.issue_views import CHANGE
    from fleetcal.cli.output import emit
    from fleetcal.services.publishing.compare_issues import compare_issues

    with open_chosen_store() as store:
        series = _series(store, group, type_name, flap_setting)
        emit(compare_issues(store, series, first, second), CHANGE)


@issue.command(shared=("format",))
@_group_argument
@_number_argument
@click.option("--out", "folder", type=FOLDER, required=True, help="Folder to write to.")
@type_option
@flap_option
def again(
    group: str,
    number: int,
    folder: Path,
    type_name: str | None,
    flap_setting: str,
) -> None:
    """Write issue NUMBER of a GROUP's table again, as it was published.

    The table is also worked out again from the points that were kept with the
    issue, and the answer says whether the digits and the bytes are the same.

    \b
    Example:
      fleetcal issue again "wing boom" 2 --out archive
    """
    from fleetcal.cli.issue_views import AGAIN
    from fleetcal.cli.output import emit
    from fleetcal.services.publishing.issues import make_again

    with open_chosen_store() as store:
        series = _series(store, group, type_name, flap_setting)
        emit(make_again(store, series, number, folder), AGAIN)


@issue.command()
@_group_argument
@_number_argument
@reason_option(required=True, help="Why; its page then says so.")
@click.option("--date", "day", type=Day(), help="Day; today if left out.")
@click.option(
    "--out",
    "folder",
    type=FOLDER,
    help="Where its files are; they are written again and say that it is withdrawn.",
)
@type_option
@flap_option
def withdraw(
    group: str,
    number: int,
    reason: str,
    day: date | None,
    folder: Path | None,
    type_name: str | None,
    flap_setting: str,
) -> None:
    """Withdraw issue NUMBER of a GROUP's table; it stays in the store with the reason.

    \b
    Example:
      fleetcal issue withdraw "wing boom" 2 --reason "a sortie was wrong" --out pages
    """
    from fleetcal.services.publishing.issues import withdraw as withdraw_it

    with open_chosen_store() as store:
        series = _series(store, group, type_name, flap_setting)
        files = withdraw_it(store, series, number, reason=reason, day=day or today(), folder=folder)
    say(f"Issue {number} of {series} is withdrawn: {reason.strip()}.", err=True)
    for file in files:
        echo(file.path)


def _series(store: Store, group: str, type_name: str | None, flap_setting: str) -> IssueSeries:
    from fleetcal.services.publishing.issues import find_series

    return find_series(store, group, type_name, flap_setting)
