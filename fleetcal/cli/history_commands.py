"""Commands on what was done to the store."""

from __future__ import annotations

import click

from fleetcal.cli.options import open_chosen_store
from fleetcal.cli.verbs import VerbGroup


@click.group(cls=VerbGroup)
def history() -> None:
    """Tell who or what added, changed or removed things and when; take it back.

    \b
    Example:
      fleetcal history list --airframe C-07
      fleetcal history undo
    """


@history.command("list", shared=("format",))
@click.option("--airframe", metavar="TAG", help="Only what concerns this airframe.")
@click.option("--point", "point_id", type=int, metavar="ID", help="Only what concerns this point.")
def list_(airframe: str | None, point_id: int | None) -> None:
    """List what was done, oldest first.

    Legs, points and budgets that came with a flight are not listed apart from it.

    \b
    Example:
      fleetcal history list --point 12
    """
    from fleetcal.cli.output import emit
    from fleetcal.cli.share_views import HISTORY
    from fleetcal.services.keeping.store_history import history_of

    with open_chosen_store() as store:
        emit(history_of(store, airframe, point_id), HISTORY)


@history.command()
@click.argument("change", type=int, required=False)
def undo(change: int | None) -> None:
    """Take a CHANGE back, or the newest one that stands: an import, a merge, a decision.

    It stays listed, marked as taken back. Where something later rests on it,
    nothing is changed.

    \b
    Example:
      fleetcal history undo
    """
    from fleetcal.services.keeping.store_history import undo as undo_it

    with open_chosen_store() as store:
        done = undo_it(store, change)
    click.echo(f"change {done.change} taken back: {done.rows} entries")
