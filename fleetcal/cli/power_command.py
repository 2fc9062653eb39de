"""The command that notes the power at which runs were flown."""

from __future__ import annotations

from pathlib import Path

import click

from fleetcal.cli.failure import inform
from fleetcal.cli.option_types import Number
from fleetcal.cli.options import (
    file_option,
    given_options,
    mapping_option,
    note_option,
    open_chosen_store,
    refuse_others,
)
from fleetcal.cli.output import emit, say
from fleetcal.cli.shared_options import named
from fleetcal.cli.verbs import Verb
from fleetcal.wording import counted

_POINTS, _NONE, _FILE, _LOG = "--power-pct", "--none", "--file", "--log"
_WAYS = {"power_pct": _POINTS, "none": _NONE, "file": _FILE, "log": _LOG}
_FITS = {
    "points": (_POINTS, _NONE),
    "u_power_pct": (_POINTS, _LOG),
    "standard_air": (_POINTS, _LOG),
    "note": (_POINTS,),
    "heading": (_LOG,),
    "mapping": (_LOG,),
}


@click.command(cls=Verb, shared=("format",))
@click.argument("points", type=click.IntRange(min=1), nargs=-1, metavar="[POINT]...")
@click.option("--power-pct", type=Number(5.0, 130.0), help="In % of the rated power.")
@click.option(
    "--u-power-pct",
    type=Number(0.1, 30.0),
    default=3.0,
    show_default=True,
    help="Its standard uncertainty, in % of rated power; the default is common practice.",
)
@click.option(
    "--standard-air",
    is_flag=True,
    help="The power is a chart's at standard temperature, of a normally aspirated engine.",
)
@note_option(help="A note to keep with it.")
@click.option("--none", is_flag=True, help="No power is known of this POINT after all.")
@file_option("--file", help="CSV of the powers of many runs, all or none.")
@file_option("--log", help="Take the powers of its runs from a log that was reduced before.")
@click.option(
    "--column",
    "heading",
    metavar="TEXT",
    help="Heading in the log, if not the only one of percent power.",
)
@mapping_option
def power(
    points: tuple[int, ...],
    power_pct: float | None,
    u_power_pct: float,
    standard_air: bool,
    note: str,
    none: bool,
    file: Path | None,
    log: Path | None,
    heading: str | None,
    mapping: Path | None,
) -> None:
    """Note the power at which the runs of some POINTs were flown, for true airspeed in cruise.

    Take it from the engine display, or from the engine's power chart with the rpm,
    manifold pressure or fuel flow you wrote down. A display that knows the air
    temperature shows the actual power. A chart for standard temperature does not:
    with --standard-air the power is multiplied by the root of standard over actual
    temperature (common practice, normally aspirated engines only). The numbers of
    the points are in 'fleetcal points list'; a power noted before is changed.

    A FILE has the columns point, power_pct; also u_power_pct (3 if empty), basis
    (actual, or standard air) and note. Of a log, the file at hand or the name of
    one that is kept, the mean over the legs of a run is taken; where the power
    changed in a run, none is noted.

    \b
    Example:
      fleetcal power 12 --power-pct 65
      fleetcal power 14 15 --power-pct 75 --u-power-pct 2 --standard-air
      fleetcal power --file powers.csv
      fleetcal power --log flight.csv --column "Eng Power (%)" --u-power-pct 2
      fleetcal power 12 --none
    \b
    Example of a FILE:
      point,power_pct,basis
      12,65,actual
      13,75,standard air
    """
    ways = [word for name, word in _WAYS.items() if name in given_options()]
    if len(ways) != 1:
        raise click.UsageError(f"Give one of {', '.join(_WAYS.values())}")
    refuse_others(ways[0], _FITS)
    if log is None and named("format"):
        raise click.UsageError("'--format' goes with '--log'")
    if log is not None:
        _note_log(log, heading, u_power_pct, standard_air, mapping)
    elif file is not None:
        _note_file(file)
    elif not points:
        raise click.UsageError("Missing argument 'POINT...'")
    elif none:
        _forget(points)
    elif power_pct is not None:
        _note(points, power_pct, u_power_pct, standard_air, note)


def _note(
    points: tuple[int, ...], power_pct: float, u_power_pct: float, standard_air: bool, note: str
) -> None:
    from fleetcal.services.performance.note_power import note_power

    with open_chosen_store() as store:
        done = note_power(
            store, points, power_pct, u_power_pct=u_power_pct, standard_air=standard_air, note=note
        )
    say(f"{counted(done.runs, 'run')} at {power_pct:g} %: {done.changed} new or changed.")


def _note_file(file: Path) -> None:
    from fleetcal.services.performance.note_power import note_powers_file

    with open_chosen_store() as store:
        done = note_powers_file(store, file, inform)
    say(f"{counted(done.runs, 'run')}: {done.changed} new or changed.")


def _note_log(
    log: Path, heading: str | None, u_power_pct: float, standard_air: bool, mapping: Path | None
) -> None:
    from fleetcal.cli.cruise_views import LOGGED_POWERS
    from fleetcal.services.performance.power_from_log import LogColumn, note_powers_log

    column = LogColumn(heading, u_power_pct, standard_air, mapping)
    with open_chosen_store() as store:
        emit(note_powers_log(store, log, column), LOGGED_POWERS)


def _forget(points: tuple[int, ...]) -> None:
    from fleetcal.services.performance.note_power import forget

    if len(points) > 1:
        raise click.UsageError("'--none' takes one POINT at a time")
    with open_chosen_store() as store:
        forget(store, points[0])
    say(f"No power is noted of point {points[0]} any more.")
