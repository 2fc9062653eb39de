"""Commands on stored points."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcal.cli.failure import inform, warn
from fleetcal.cli.option_types import Days, Period
from fleetcal.cli.options import (
    airframe_option,
    existing_file,
    file_option,
    open_chosen_store,
    reason_option,
    refuse_others,
    source_option,
    tag_argument,
    type_option,
    weight_option,
)
from fleetcal.cli.output import emit, say, write_out
from fleetcal.cli.printer import echo
from fleetcal.cli.quantity_option import (
    CRUISE,
    POOLED,
    POSITION_ERROR,
    RATES,
    quantity_option,
)
from fleetcal.cli.repeated_flight import (
    another_flight_option,
    in_its_place_option,
    kept_by_choice,
    repeat_choice,
)
from fleetcal.cli.shared_options import named
from fleetcal.cli.shown_units import in_shown_units
from fleetcal.cli.verbs import VerbGroup
from fleetcal.wording import counted

if TYPE_CHECKING:
    from fleetcal.services.chosen_store import PointFilter


_PLAIN = (POSITION_ERROR,)
_LIST_FITS = {
    **dict.fromkeys(("static_source", "flap_setting", "flown", "out"), _PLAIN),
    **dict.fromkeys(("airframe", "accepted"), (POSITION_ERROR, *RATES)),
}


@click.group(cls=VerbGroup)
def points() -> None:
    """List, explain, reject, accept, move and import points, climbs and glides.

    \b
    Example:
      fleetcal points list --airframe C-07
      fleetcal points reject 12 13 --reason "static line found loose"
    """


@points.command("list", shared=("format",))
@click.option(
    "--quantity",
    "quantities",
    type=click.Choice(POOLED),
    multiple=True,
    default=[POSITION_ERROR],
    show_default=True,
    help="Which measured quantity; climb and glide may be given together.",
)
@airframe_option(help="Only this airframe.")
@type_option
@source_option(help="Only this static source.")
@click.option("--flap-setting", metavar="TEXT", help="Only this flap setting.")
@click.option("--flown", type=Days(), help="Only these days, such as 2024-01-01..2024-06-30.")
@click.option("--accepted/--rejected", default=None, help="Only those; all if left out.")
@file_option("--out", help="Write them as a CSV file that 'points import' reads; - prints it.")
def list_(
    quantities: tuple[str, ...],
    airframe: str | None,
    type_name: str | None,
    static_source: str | None,
    flap_setting: str | None,
    flown: Period | None,
    accepted: bool | None,
    out: Path | None,
) -> None:
    """List points, climbs, glides or cruise runs, with the reason where one is not used.

    Points of position error can be written to a file. Cruise runs are points whose
    power is noted, brought to sea level and reference weight: VIW is the equivalent
    airspeed at reference weight, PIW the power at sea level and reference weight
    that belongs to it.

    \b
    Example:
      fleetcal points list --airframe C-07 --accepted
      fleetcal points list --static-source "wing boom" --out points.csv
      fleetcal points list --quantity glide --rejected
      fleetcal points list --quantity cruise
    """
    if len(quantities) > 1 and set(quantities) - set(RATES):
        raise click.UsageError("'--quantity' takes one quantity, or climb and glide.")
    for quantity in quantities:
        refuse_others(quantity, _LIST_FITS)
    if CRUISE in quantities:
        _list_cruise(type_name)
        return
    if POSITION_ERROR not in quantities:
        _list_climbs(type_name, airframe, quantities, accepted)
        return
    from fleetcal.services.chosen_store import PointFilter

    flown_from, flown_to = flown or (None, None)
    _list_points(
        PointFilter(
            airframe=airframe,
            type=type_name,
            static_source=static_source,
            flap_setting=flap_setting,
            flown_from=flown_from,
            flown_to=flown_to,
            accepted=accepted,
        ),
        out,
    )


def _list_points(filter_: PointFilter, out: Path | None) -> None:
    from fleetcal.cli.store_views import POINTS
    from fleetcal.services.points.decide_points import list_points

    if out is not None and named("format"):
        raise click.UsageError("'--out' writes CSV: leave '--format' out")
    with open_chosen_store() as store:
        found = list_points(store, filter_)
    if out is None:
        emit(found, POINTS)
    else:
        from fleetcal.services.points.exchange_points import points_csv

        write_out(out, points_csv(found.points), counted(len(found.points), "point"))


def _list_climbs(
    type_name: str | None,
    airframe: str | None,
    kinds: tuple[str, ...],
    accepted: bool | None,
) -> None:
    from fleetcal.cli.climb_views import CLIMBS
    from fleetcal.services.performance.list_climbs import list_climbs

    kind = kinds[0] if len(set(kinds)) == 1 else None
    with open_chosen_store() as store:
        emit(list_climbs(store, type_name, airframe, kind, accepted), CLIMBS)


def _list_cruise(type_name: str | None) -> None:
    from fleetcal.cli.cruise_views import CRUISE_RUNS
    from fleetcal.services.performance.note_power import list_cruise

    with open_chosen_store() as store:
        emit(list_cruise(store, type_name), CRUISE_RUNS)


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
@click.argument("ids", type=int, nargs=-1, required=True, metavar="ID...")
@quantity_option(POOLED)
@reason_option(required=True, help="Why; it stays with them.")
def reject(ids: tuple[int, ...], quantity: str, reason: str) -> None:
    """Take points, climbs or glides out of every pool; they stay in the store with the reason.

    \b
    Example:
      fleetcal points reject 12 13 --reason "static line found loose"
      fleetcal points reject 4 --quantity glide --reason "flown through a wave"
    """
    from fleetcal.services.points.decide_points import reject as reject_them

    table = _table_of(quantity)
    with open_chosen_store() as store:
        done = reject_them(store, ids, reason, table)
    say(f"{_counted(done.count, quantity)} rejected: {done.reason}.")


@points.command()
@click.argument("ids", type=int, nargs=-1, required=True, metavar="ID...")
@quantity_option(POOLED)
def accept(ids: tuple[int, ...], quantity: str) -> None:
    """Put rejected points, climbs or glides back into the pools.

    \b
    Example:
      fleetcal points accept 12 13
      fleetcal points accept 4 --quantity glide
    """
    from fleetcal.services.points.decide_points import accept as accept_them

    table = _table_of(quantity)
    with open_chosen_store() as store:
        done = accept_them(store, ids, table)
    say(f"{_counted(done.count, quantity)} accepted.")


def _table_of(quantity: str) -> str:
    """Return what holds the measurements of a quantity."""
    from fleetcal.services.points.decide_points import CLIMBS
    from fleetcal.services.points.decide_points import POINTS as OF_POSITION_ERROR

    if quantity == CRUISE:
        raise click.UsageError(
            "A cruise run is a point: decide on the point itself, or take its power away with "
            "'fleetcal power POINT --none'."
        )
    return CLIMBS if quantity in RATES else OF_POSITION_ERROR


def _counted(count: int, quantity: str) -> str:
    if quantity in RATES:
        return counted(count, "climb or glide", "climbs or glides")
    return counted(count, "point")


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
    say(
        f"Sortie {done.sortie_id} of {done.flown_on} moved from {done.before} to {done.now}: "
        f"{done.points} points{f', now under {done.equipment}' if done.equipment else ''}."
    )


@points.command()
@click.argument("sortie", type=click.IntRange(1))
@weight_option(required=True, help="Weight during the flight.")
def weight(sortie: int, weight_kg: float) -> None:
    """Correct the weight of the flight SORTIE, which was supposed or given wrongly.

    What its points say of the airspeed error stays; the weight tells at which lift
    it was. Nothing is reduced again, and 'fleetcal undo' takes it back.

    \b
    Example:
      fleetcal points weight 12 --weight 1290lb
    """
    from fleetcal.services.points.weigh_flight import weigh_flight

    with open_chosen_store() as store:
        done = weigh_flight(store, sortie, weight_kg)
    echo(
        in_shown_units(
            f"sortie {done.sortie_id} of {done.flown_on}, {done.airframe}: {done.now_kg:.0f} kg, "
            f"before {done.before_kg:.0f} kg; {counted(done.points, 'point')}"
        )
    )
    if done.climbs:
        climbs = counted(done.climbs, "climb or glide", "climbs or glides")
        warn((f"its {climbs} stay as they are; reduce {done.file} again for them",))


@points.command("import")
@existing_file("file")
@another_flight_option
@in_its_place_option
def import_(file: Path, another_flight: bool, replacing: bool) -> None:
    """Add points of earlier work from a CSV FILE, all or none.

    Needed columns: airframe, flown_on, weight_kg, vic_kt, pressure_altitude_ft,
    and either kappa with u_kappa or dvpc_kt with u_dvpc_kt. The other columns
    are those that 'points list --out' writes. A spreadsheet saved as CSV will do,
    with headings such as Tag, Date, Weight (lb), IAS (mph), Altitude, Correction,
    Uncertainty: see 'fleetcal manual units-and-signs'.

    \b
    Example:
      fleetcal points import older-results.csv
    """
    from fleetcal.services.points.exchange_points import import_points

    with open_chosen_store() as store:
        done = kept_by_choice(
            lambda choice: import_points(store, file, inform, choice),
            repeat_choice(another=another_flight, replacing=replacing),
        )
    warn(done.warnings)
    if done.known_already:
        say(f"Of {done.file} the same content is in the store already; nothing was added.")
    else:
        say(
            f"From {done.file}: {counted(done.points, 'point')} of "
            f"{counted(done.sorties, 'sortie')} added."
        )
