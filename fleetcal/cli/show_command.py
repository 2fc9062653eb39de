"""Commands on what the store holds: show it, and take a change back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

import click

from fleetcal.cli.options import (
    airframe_option,
    file_option,
    group_argument,
    open_chosen_store,
    refuse_others,
)
from fleetcal.cli.output import emit, say, write_out
from fleetcal.cli.shared_options import named
from fleetcal.cli.verbs import Verb
from fleetcal.wording import counted

WHAT: Final = ("fleet", "checks", "handbooks", "issues", "logs", "history")
_FITS: Final[Mapping[str, Sequence[str]]] = {
    "group": ("issues",),
    "airframe": ("checks", "history"),
    "point": ("history",),
    "out": ("fleet",),
}


@click.command(cls=Verb, shared=("format",))
@click.argument("what", type=click.Choice(WHAT))
@group_argument("group", metavar="[GROUP]", required=False)
@airframe_option(help="Of checks and history: only what concerns this airframe.")
@click.option("--point", type=int, metavar="ID", help="Of history: only what concerns this point.")
@file_option(
    "--out", help="Of the fleet: write it as the TOML file that 'fleet load' reads; - prints it."
)
def show(
    what: str, group: str | None, airframe: str | None, point: int | None, out: Path | None
) -> None:
    """Show what the store holds besides points.

    fleet: airframes and what each carried from which date. checks: what was found
    on the bench. handbooks: their tables and speeds. issues: published ones, of a
    GROUP or all. logs: those that are kept. history: who or what added, changed or
    removed things and when, oldest first. Withdrawn checks and issues are shown
    too. Points, climbs and glides are in 'fleetcal points list'.

    \b
    Example:
      fleetcal show fleet
      fleetcal show fleet --out fleet-copy.toml
      fleetcal show checks --airframe C-07
      fleetcal show issues "wing boom"
      fleetcal show history --point 12
    """
    refuse_others(what, _FITS)
    if what == "fleet":
        _show_fleet(out)
    elif what == "checks":
        _show_checks(airframe)
    elif what == "handbooks":
        _show_handbooks()
    elif what == "issues":
        _show_issues(group)
    elif what == "logs":
        _show_logs()
    else:
        _show_history(airframe, point)


def _show_fleet(out: Path | None) -> None:
    from fleetcal.cli.store_views import FLEET
    from fleetcal.services.fleet.describe_fleet import fleet_toml, show_fleet

    if out is not None and named("format"):
        raise click.UsageError("'--out' writes TOML: leave '--format' out")
    with open_chosen_store() as store:
        if out is None:
            emit(show_fleet(store), FLEET)
        else:
            write_out(out, fleet_toml(store), "fleet")


def _show_checks(airframe: str | None) -> None:
    from fleetcal.cli.bench_views import CHECKS
    from fleetcal.services.bench.bench_checks import list_checks

    with open_chosen_store() as store:
        emit(list_checks(store, airframe), CHECKS)


def _show_handbooks() -> None:
    from fleetcal.cli.handbook_views import HANDBOOKS
    from fleetcal.services.handbook.enter_handbook import list_handbooks

    with open_chosen_store() as store:
        emit(list_handbooks(store), HANDBOOKS)


def _show_issues(group: str | None) -> None:
    from fleetcal.cli.issue_views import ISSUES
    from fleetcal.services.publishing.issues import known_issues

    with open_chosen_store() as store:
        emit(known_issues(store, group), ISSUES)


def _show_logs() -> None:
    from fleetcal.cli.log_views import KEPT_LOGS
    from fleetcal.services.keeping.kept_logs import kept_logs

    with open_chosen_store() as store:
        emit(kept_logs(store), KEPT_LOGS)


def _show_history(airframe: str | None, point: int | None) -> None:
    from fleetcal.cli.share_views import HISTORY
    from fleetcal.services.keeping.store_history import history_of

    with open_chosen_store() as store:
        emit(history_of(store, airframe, point), HISTORY)


@click.command(cls=Verb)
@click.argument("change", type=int, metavar="[CHANGE]", required=False)
@click.option("--of-others", is_flag=True, help="Take another person's change back.")
def undo(change: int | None, of_others: bool) -> None:
    """Take a CHANGE back, or the newest one that stands: an import, a merge, a decision.

    It stays listed in 'fleetcal show history', marked as taken back. Where
    something later rests on it, or another person made it, nothing is changed.

    \b
    Example:
      fleetcal undo
    """
    from fleetcal.services.keeping.store_history import undo as undo_it

    with open_chosen_store() as store:
        done = undo_it(store, change, of_others=of_others)
    entries = counted(done.rows, "entry", "entries")
    say(f"Change {done.change} by {done.made_by} is taken back: {entries}.")
