"""Options that several commands have."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict, TypeVar

import click

from fleetcal.cli.completion import groups_and_pairings, static_sources, tags, types
from fleetcal.cli.option_types import FigureFile, Number
from fleetcal.cli.preferred import preferred
from fleetcal.cli.printer import echo
from fleetcal.cli.shared_options import chosen, named

if TYPE_CHECKING:
    from fleetcal.services.chosen_store import Store
    from fleetcal.services.curves.pooled_curve import CurveRequest

Command = TypeVar("Command", bound=Callable[..., object])
PATH = click.Path(path_type=Path)
FOLDER = click.Path(path_type=Path, file_okay=False)
WEIGHT = Number(1.0, 100000.0)

file_option = partial(click.option, type=PATH, metavar="FILE")
airframe_option = partial(click.option, "--airframe", metavar="TAG", shell_complete=tags)
type_option = click.option(
    "--type",
    "type_name",
    metavar="NAME",
    shell_complete=types,
    help="Aircraft type; may be left out if there is one.",
)
flap_option = click.option(
    "--flap-setting", default="up", show_default=True, metavar="TEXT", help="Flap setting."
)
order_option = click.option("--order", type=click.IntRange(0, 2), help="Order of the curve.")
reason_option = partial(click.option, "--reason", metavar="TEXT")
note_option = partial(click.option, "--note", default="", metavar="TEXT")
weight_option = partial(click.option, "--weight-kg", type=WEIGHT)
table_weight_option = weight_option(
    help="Weight for the airspeeds; the type's reference weight if left out."
)
altitude_option = click.option(
    "--altitude-ft",
    type=Number(-1000.0, 30000.0),
    default=0.0,
    show_default=True,
    help="Pressure altitude for the altimeter correction.",
)
mapping_option = file_option(
    "--mapping", help="TOML file that says what the headings of the log do not."
)
settings_option = file_option(
    "--settings",
    "settings_file",
    help="TOML file of tolerances and assumed uncertainties; see 'fleetcal settings'.",
)
preview_option = click.option("--preview", is_flag=True, help="Print the result, store nothing.")
figure_option = click.option(
    "--out", "figure", type=FigureFile(), help="Draw it too, as .svg, .png or .pdf."
)
paper_option = click.option(
    "--paper",
    type=click.Choice(["a4", "letter"]),
    default="a4",
    show_default=True,
    help="Paper of PDF and card.",
)
step_option = partial(click.option, "--step", type=Number(0.5, 100.0))

source_option = partial(
    click.option, "--static-source", metavar="NAME", shell_complete=static_sources
)


def _own_tag(context: click.Context, argument: click.Parameter, tag: str | None) -> str:
    """Return the airframe that was named, else the preferred one."""
    meant = tag or preferred("airframe", context)
    if not meant:
        raise click.MissingParameter(ctx=context, param=argument)
    return meant


tag_argument = partial(click.argument, metavar="TAG", shell_complete=tags)
#: Where none is named, the one that is preferred is meant.
own_tag_argument = partial(tag_argument, required=False, callback=_own_tag)
group_argument = partial(click.argument, metavar="GROUP", shell_complete=groups_and_pairings)
group_option = partial(click.option, metavar="GROUP", shell_complete=groups_and_pairings)


def together(*options: Callable[[Command], Command]) -> Callable[[Command], Command]:
    """Return one decorator that adds several options, in the order of the help."""

    def add(command: Command) -> Command:
        for option in reversed(options):
            command = option(command)
        return command

    return add


class PoolOptions(TypedDict):
    """What `pool_options` adds."""

    with_airframes: tuple[str, ...]
    without_airframes: tuple[str, ...]


class GroupOptions(PoolOptions):
    """Options by which the pooled curve of a group is fitted."""

    type_name: str | None
    flap_setting: str
    weight_kg: float | None
    order: int | None


pool_options = together(
    click.option(
        "--with",
        "with_airframes",
        metavar="TAG",
        shell_complete=tags,
        multiple=True,
        help="Keep this airframe in the pool even if it stands outside; several times too.",
    ),
    click.option(
        "--without",
        "without_airframes",
        metavar="TAG",
        shell_complete=tags,
        multiple=True,
        help="Take this airframe out of the pool; may be given several times.",
    ),
)


def curve_request(
    group: str, options: GroupOptions, *, step_kt: float, altitude_ft: float = 0.0
) -> CurveRequest:
    """Return what is asked of the pooled curve of a group as a service takes it."""
    from fleetcal.services.curves.pooled_curve import CurveRequest

    return CurveRequest(
        group=group,
        type=options["type_name"],
        flap_setting=options["flap_setting"],
        weight_kg=options["weight_kg"],
        altitude_ft=altitude_ft,
        step_kt=step_kt,
        order=options["order"],
        with_airframes=options["with_airframes"],
        without_airframes=options["without_airframes"],
    )


def existing_file(name: str) -> Callable[[Command], Command]:
    """Return an argument that takes a path; reading it explains what is wrong with it."""
    return click.argument(name, type=PATH)


def given_options() -> set[str]:
    """Return the names of the options and arguments that somebody wrote."""
    context = click.get_current_context()
    default = click.core.ParameterSource.DEFAULT
    return {name for name in context.params if context.get_parameter_source(name) is not default}


def refuse_others(kind: str, fits: Mapping[str, Sequence[str]]) -> None:
    """Fail with the usage where an option was given that is for other kinds.

    Args:
        kind: What is asked about, as the message names it.
        fits: By name of the parameter, the kinds that it is for; one not listed is for all.
    """
    context = click.get_current_context()
    for parameter in context.command.params:
        kinds = fits.get(str(parameter.name), (kind,))
        if kind not in kinds and parameter.name in given_options():
            word = (
                f"'{parameter.opts[-1]}'"
                if isinstance(parameter, click.Option)
                else parameter.human_readable_name
            )
            raise click.UsageError(f"{word} is for {' or '.join(kinds)}, not for {kind}.")


def chosen_place() -> str | None:
    """Return where the program was told to find its store, None for the usual place."""
    from fleetcal.services.chosen_store import acting_as, telling

    telling(lambda note: echo(f"Upgrade of the store: {note}.", err=True))
    context = click.get_current_context()
    acting_as(context.command_path.partition(" ")[2] or context.command_path)
    where: str | None = chosen("store")
    return where or preferred("store", context) or None


def program_words() -> tuple[str, ...]:
    """Return how the program was called, with the store if it was named in the command."""
    where = chosen("store") if named("store") else None
    return ("fleetcal",) if where is None else ("fleetcal", "--store", where)


def open_chosen_store() -> Store:
    """Open the store that the program was told to use; it must be there."""
    from fleetcal.services.chosen_store import open_store

    return open_store(chosen_place(), create=False)
