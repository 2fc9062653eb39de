"""Commands on stored climbs and glides: list, reject, accept."""

from __future__ import annotations

import click

from fleetcal.cli.climb_commands import climbs
from fleetcal.cli.options import open_chosen_store, type_option
from fleetcal.wording import counted

__all__ = ["climbs"]


@climbs.command("list", shared=("format",))
@click.option("--airframe", metavar="TAG", help="Only this airframe.")
@click.option("--quantity", "kind", type=click.Choice(["climb", "glide"]), help="Both if left out.")
@click.option("--accepted/--rejected", default=None, help="Only those; all if left out.")
@type_option
def list_(
    airframe: str | None,
    kind: str | None,
    accepted: bool | None,
    type_name: str | None,
) -> None:
    """List the climbs and glides in the store, with the reason where one is not used.

    \b
    Example:
      fleetcal climbs list --airframe C-07 --format csv
      fleetcal climbs list --rejected
    """
    from fleetcal.cli.climb_views import CLIMBS
    from fleetcal.cli.output import emit
    from fleetcal.services.performance.list_climbs import list_climbs

    with open_chosen_store() as store:
        emit(list_climbs(store, type_name, airframe, kind, accepted), CLIMBS)


@climbs.command()
@click.argument("ids", type=int, nargs=-1, required=True)
@click.option("--reason", required=True, help="Why; it stays with them.")
def reject(ids: tuple[int, ...], reason: str) -> None:
    """Take climbs or glides out of every pool; they stay in the store with the reason.

    \b
    Example:
      fleetcal climbs reject 12 13 --reason "flown through a wave"
    """
    from fleetcal.services.points.decide_points import CLIMBS
    from fleetcal.services.points.decide_points import reject as reject_them

    with open_chosen_store() as store:
        done = reject_them(store, ids, reason, CLIMBS)
    click.echo(
        f"{counted(done.count, 'climb or glide', 'climbs or glides')} rejected: {done.reason}"
    )


@climbs.command()
@click.argument("ids", type=int, nargs=-1, required=True)
def accept(ids: tuple[int, ...]) -> None:
    """Put rejected climbs or glides back into the pools.

    \b
    Example:
      fleetcal climbs accept 12 13
    """
    from fleetcal.services.points.decide_points import CLIMBS
    from fleetcal.services.points.decide_points import accept as accept_them

    with open_chosen_store() as store:
        done = accept_them(store, ids, CLIMBS)
    click.echo(f"{counted(done.count, 'climb or glide', 'climbs or glides')} accepted")
