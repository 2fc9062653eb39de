"""Commands on stored points."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from fleetcal.cli.failure import one_line
from fleetcal.cli.options import (
    Command,
    Day,
    existing_file,
    open_chosen_store,
)
from fleetcal.cli.verbs import VerbGroup
from fleetcal.wording import counted


def _filters(command: Command) -> Command:
    """Add the options that choose points."""
    for option in (
        click.option("--accepted/--rejected", default=None, help="Only those; all if left out."),
        click.option("--flown-to", type=Day(), help="Last day."),
        click.option("--flown-from", type=Day(), help="First day."),
        click.option("--flap-setting", metavar="TEXT", help="Only this flap setting."),
        click.option("--static-source", metavar="NAME", help="Only this static source."),
        click.option("--airframe", metavar="TAG", help="Only this airframe."),
    ):
        command = option(command)
    return command


@click.group(cls=VerbGroup)
def points() -> None:
    """List, explain, reject, accept, move, import and export calibration points.

    \b
    Example:
      fleetcal points list --airframe C-07
      fleetcal points reject 12 13 --reason "static line found loose"
    """


@points.command("list", shared=("format",))
@_filters
def list_(
    airframe: str | None,
    static_source: str | None,
    flap_setting: str | None,
    flown_from: date | None,
    flown_to: date | None,
    accepted: bool | None,
) -> None:
    """List points.

    \b
    Example:
      fleetcal points list --airframe C-07 --accepted
    """
    from fleetcal.cli.output import emit
    from fleetcal.cli.views import POINTS
    from fleetcal.services.chosen_store import PointFilter
    from fleetcal.services.points.decide_points import list_points

    wanted = PointFilter(
        airframe=airframe,
        static_source=static_source,
        flap_setting=flap_setting,
        flown_from=flown_from,
        flown_to=flown_to,
        accepted=accepted,
    )
    with open_chosen_store() as store:
        emit(list_points(store, wanted), POINTS)


@points.command(shared=("format",))
@click.argument("number", metavar="ID", type=int)
def budget(number: int) -> None:
    """Show the uncertainty budget of one point, largest term first.

    \b
    Example:
      fleetcal points budget 12
    """
    from fleetcal.cli.measure_views import BUDGET
    from fleetcal.cli.output import emit
    from fleetcal.services.points.point_budget import point_budget

    with open_chosen_store() as store:
        emit(point_budget(store, number), BUDGET)


@points.command()
@click.argument("ids", type=int, nargs=-1, required=True)
@click.option("--reason", required=True, help="Why; it stays with the points.")
def reject(ids: tuple[int, ...], reason: str) -> None:
    """Take points out of every pool; they stay in the store with the reason.

    \b
    Example:
      fleetcal points reject 12 13 --reason "static line found loose"
    """
    from fleetcal.services.points.decide_points import reject as reject_them

    with open_chosen_store() as store:
        done = reject_them(store, ids, reason)
    click.echo(f"{counted(done.points, 'point')} rejected: {done.reason}")


@points.command()
@click.argument("ids", type=int, nargs=-1, required=True)
def accept(ids: tuple[int, ...]) -> None:
    """Put rejected points back into the pools.

    \b
    Example:
      fleetcal points accept 12 13
    """
    from fleetcal.services.points.decide_points import accept as accept_them

    with open_chosen_store() as store:
        done = accept_them(store, ids)
    click.echo(f"{counted(done.points, 'point')} accepted")


@points.command()
@click.option("--sortie", type=click.IntRange(1), required=True, help="The flight.")
@click.option("--to", metavar="TAG", required=True, help="Tag of the airframe that flew it.")
def move(sortie: int, to: str) -> None:
    """Move a flight that was reduced under a wrong airframe to the right one.

    Its legs, points and climbs stay as they are, and so do decisions, powers and a
    kept log; they count under the equipment that the other airframe had on that day.
    'fleetcal history undo' takes it back. 'fleetcal reduce' of a log that is stored
    for another airframe names the sortie.

    \b
    Example:
      fleetcal points move --sortie 12 --to C-08
    """
    from fleetcal.services.points.move_flight import move_flight

    with open_chosen_store() as store:
        done = move_flight(store, sortie, to)
    for warning in done.warnings:
        click.echo(f"Warning: {one_line(warning)}", err=True)
    click.echo(
        f"sortie {done.sortie_id} of {done.flown_on} moved from {done.before} to {done.now}: "
        f"{done.points} points{f', now under {done.equipment}' if done.equipment else ''}"
    )


@points.command("import")
@existing_file("file")
def import_(file: Path) -> None:
    """Add points of earlier work from a CSV FILE, all or none.

    Needed columns: airframe, flown_on, weight_kg, vic_kt, pressure_altitude_ft,
    and either kappa with u_kappa or dvpc_kt with u_dvpc_kt. The other columns
    are those that 'points export' writes.

    \b
    Example:
      fleetcal points import older-results.csv
    """
    from fleetcal.services.points.exchange_points import import_points

    with open_chosen_store() as store:
        done = import_points(store, file)
    if done.known_already:
        click.echo(f"{done.file}: the same content is in the store already; nothing was added")
    else:
        click.echo(
            f"{done.file}: {counted(done.points, 'point')} of "
            f"{counted(done.sorties, 'sortie')} added"
        )


@points.command()
@click.argument("file", type=click.Path(path_type=Path), required=False)
@_filters
def export(
    file: Path | None,
    airframe: str | None,
    static_source: str | None,
    flap_setting: str | None,
    flown_from: date | None,
    flown_to: date | None,
    accepted: bool | None,
) -> None:
    """Write points as CSV to FILE, or to standard output.

    \b
    Example:
      fleetcal points export points.csv --static-source "wing boom"
    """
    from fleetcal.services.chosen_store import PointFilter
    from fleetcal.services.points.decide_points import list_points
    from fleetcal.services.points.exchange_points import points_csv
    from fleetcal.whole_file import write_file_whole

    wanted = PointFilter(
        airframe=airframe,
        static_source=static_source,
        flap_setting=flap_setting,
        flown_from=flown_from,
        flown_to=flown_to,
        accepted=accepted,
    )
    with open_chosen_store() as store:
        found = list_points(store, wanted).points
    if file is None:
        click.echo(points_csv(found), nl=False)
    else:
        write_file_whole(file, points_csv(found))
        click.echo(f"{counted(len(found), 'point')} written to {file}", err=True)
