"""Commands on stored points."""

from __future__ import annotations

from pathlib import Path

import click

from fleetcal.cli.failure import warn
from fleetcal.cli.option_types import Days, Period
from fleetcal.cli.options import (
    airframe_option,
    existing_file,
    file_option,
    open_chosen_store,
    reason_option,
    source_option,
    tag_argument,
)
from fleetcal.cli.output import emit, write_out
from fleetcal.cli.shared_options import named
from fleetcal.cli.verbs import VerbGroup
from fleetcal.wording import counted


@click.group(cls=VerbGroup)
def points() -> None:
    """List, explain, reject, accept, move and import calibration points.

    \b
    Example:
      fleetcal points list --airframe C-07
      fleetcal points reject 12 13 --reason "static line found loose"
    """


@points.command("list", shared=("format",))
@airframe_option(help="Only this airframe.")
@source_option(help="Only this static source.")
@click.option("--flap-setting", metavar="TEXT", help="Only this flap setting.")
@click.option("--flown", type=Days(), help="Only these days, such as 2024-01-01..2024-06-30.")
@click.option("--accepted/--rejected", default=None, help="Only those; all if left out.")
@file_option("--out", help="Write them as a CSV file that 'points import' reads; - prints it.")
def list_(
    airframe: str | None,
    static_source: str | None,
    flap_setting: str | None,
    flown: Period | None,
    accepted: bool | None,
    out: Path | None,
) -> None:
    """List points, or write them to a file.

    \b
    Example:
      fleetcal points list --airframe C-07 --accepted
      fleetcal points list --static-source "wing boom" --out points.csv
    """
    from fleetcal.cli.views import POINTS
    from fleetcal.services.chosen_store import PointFilter
    from fleetcal.services.points.decide_points import list_points
    from fleetcal.services.points.exchange_points import points_csv

    flown_from, flown_to = flown or (None, None)
    wanted = PointFilter(
        airframe=airframe,
        static_source=static_source,
        flap_setting=flap_setting,
        flown_from=flown_from,
        flown_to=flown_to,
        accepted=accepted,
    )
    if out is not None and named("format"):
        raise click.UsageError("'--out' writes CSV: leave '--format' out")
    with open_chosen_store() as store:
        found = list_points(store, wanted)
    if out is None:
        emit(found, POINTS)
    else:
        write_out(out, points_csv(found.points), counted(len(found.points), "point"))


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
@reason_option(required=True, help="Why; it stays with the points.")
def reject(ids: tuple[int, ...], reason: str) -> None:
    """Take points out of every pool; they stay in the store with the reason.

    \b
    Example:
      fleetcal points reject 12 13 --reason "static line found loose"
    """
    from fleetcal.services.points.decide_points import reject as reject_them

    with open_chosen_store() as store:
        done = reject_them(store, ids, reason)
    click.echo(f"{counted(done.count, 'point')} rejected: {done.reason}")


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
    click.echo(f"{counted(done.count, 'point')} accepted")


@points.command()
@click.argument("sortie", type=click.IntRange(1))
@tag_argument("tag")
def move(sortie: int, tag: str) -> None:
    """Move the flight SORTIE, reduced under a wrong airframe, to the airframe TAG that flew it.

    Its legs, points and climbs stay as they are, and so do decisions, powers and a
    kept log; they count under the equipment that the other airframe had on that day.
    'fleetcal undo' takes it back. 'fleetcal reduce' of a log that is stored
    for another airframe names the sortie.

    \b
    Example:
      fleetcal points move 12 C-08
    """
    from fleetcal.services.points.move_flight import move_flight

    with open_chosen_store() as store:
        done = move_flight(store, sortie, tag)
    warn(done.warnings)
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
    are those that 'points list --out' writes.

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
