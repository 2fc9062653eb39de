"""Commands on issues of published tables."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fleetcal.cli.options import Day, flap_option, open_chosen_store, type_option
from fleetcal.cli.publish_commands import asked_for, file_options, folder_option, table_options
from fleetcal.cli.verbs import VerbGroup

if TYPE_CHECKING:
    from fleetcal.services.chosen_store import IssueSeries, Store

_group_argument = click.argument("group", metavar="GROUP")
_number_argument = click.argument("number", type=click.IntRange(1))


@click.group(cls=VerbGroup)
def issue() -> None:
    """Issue a table under a number, see what changed between issues, withdraw one.

    What went into an issue stays in the store: its points, their hash, every
    choice and the program's version. So an issue can be made again later, byte
    for byte, whatever has been reduced or rejected since.

    \b
    Example:
      fleetcal issue new "wing boom" --why "two more airframes" --folder pages
      fleetcal issue compare "wing boom" 1 2
      fleetcal issue withdraw "wing boom" 1 --reason "a sortie was wrong"
    """


@issue.command()
@_group_argument
@folder_option
@click.option("--why", required=True, help="Why it is issued; printed on it.")
@click.option("--made-on", type=Day(), help="Date of the issue; today if left out.")
@table_options
@file_options
def new(group: str, folder: Path, why: str, made_on: date | None, **options: Any) -> None:
    """Publish the table of a GROUP as its next issue.

    \b
    Example:
      fleetcal issue new "wing boom" --why "first pooled table" --folder pages
    """
    from fleetcal.services.publishing.issues import make_issue

    request, layout = asked_for(group, options)
    with open_chosen_store() as store:
        done = make_issue(
            store, request, folder, issued_on=made_on or _today(), why=why, layout=layout
        )
    click.echo(f"issue {done.number} of {done.group}, flaps {done.flap_setting}", err=True)
    for file in done.files:
        click.echo(file.path)


@issue.command("list", shared=("format",))
@click.argument("group", metavar="[GROUP]", required=False)
def list_(group: str | None) -> None:
    """List issues, withdrawn ones too.

    \b
    Example:
      fleetcal issue list "wing boom"
    """
    from fleetcal.cli.issue_views import ISSUES
    from fleetcal.cli.output import emit
    from fleetcal.services.publishing.issues import known_issues

    with open_chosen_store() as store:
        emit(known_issues(store, group), ISSUES)


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
@folder_option
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
    issue, and it is said whether the digits and the bytes are the same.

    \b
    Example:
      fleetcal issue again "wing boom" 2 --folder archive
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
@click.option("--reason", required=True, help="Why; its page then says so.")
@click.option("--date", "day", type=Day(), help="Day; today if left out.")
@click.option(
    "--folder",
    type=click.Path(path_type=Path, file_okay=False),
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
      fleetcal issue withdraw "wing boom" 2 --reason "a sortie was wrong" --folder pages
    """
    from fleetcal.services.publishing.issues import withdraw as withdraw_it

    with open_chosen_store() as store:
        series = _series(store, group, type_name, flap_setting)
        files = withdraw_it(
            store, series, number, reason=reason, day=day or _today(), folder=folder
        )
    click.echo(f"issue {number} of {series} withdrawn: {reason.strip()}", err=True)
    for file in files:
        click.echo(file.path)


def _series(store: Store, group: str, type_name: str | None, flap_setting: str) -> IssueSeries:
    from fleetcal.services.publishing.issues import find_series

    return find_series(store, group, type_name, flap_setting)


def _today() -> date:
    return datetime.now(UTC).date()
