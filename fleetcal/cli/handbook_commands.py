"""Commands on handbook tables and speeds."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fleetcal.cli.options import (
    Command,
    Number,
    existing_file,
    flap_option,
    open_chosen_store,
    pool_options,
    type_option,
)
from fleetcal.cli.verbs import VerbGroup
from fleetcal.wording import counted

if TYPE_CHECKING:
    from fleetcal.services.curves.pooled_curve import CurveRequest

_group_argument = click.argument("group", metavar="GROUP")
_handbook_option = click.option(
    "--handbook", metavar="NAME", help="Name of the table; may be left out if there is one."
)


def _port_options(command: Command) -> Command:
    for option in (
        click.option("--order", type=click.IntRange(0, 2), help="Order of the pooled curve."),
        click.option(
            "--weight-kg",
            type=Number(1.0, 100000.0),
            help="Weight for the airspeeds; the handbook table's if left out.",
        ),
        _handbook_option,
        pool_options,
        flap_option,
        type_option,
    ):
        command = option(command)
    return command


@click.group(cls=VerbGroup)
def handbook() -> None:
    """Enter what a handbook prints, and hold it against the port that is fitted.

    \b
    Example:
      fleetcal handbook enter table.csv --name "first edition" --static-source "wing boom"
      fleetcal handbook compare "mid-fuselage raised disc pair"
      fleetcal handbook carry "mid-fuselage raised disc pair"
    """


@handbook.command()
@existing_file("file")
@click.option(
    "--name", "table_name", required=True, metavar="TEXT", help="What the table is called."
)
@click.option(
    "--static-source", required=True, metavar="NAME", help="The port the handbook was flown with."
)
@click.option("--speeds", type=click.Path(path_type=Path), help="CSV file of its speeds.")
@click.option(
    "--weight-kg", type=Number(1.0, 100000.0), help="Its weight; the reference weight if left out."
)
@flap_option
@type_option
def enter(
    file: Path,
    table_name: str,
    static_source: str,
    speeds: Path | None,
    weight_kg: float | None,
    flap_setting: str,
    type_name: str | None,
) -> None:
    """Enter the IAS/CAS table of a handbook from a CSV FILE, and its speeds from another.

    A speed is an IAS as the handbook prints it, under any name: stall, best angle
    of climb, best rate of climb, glide, approach, flap limit, manoeuvring, never
    exceed. A table of the same name, static source and flap setting is replaced.

    \b
    Example:
      fleetcal handbook enter table.csv --name first --static-source "wing boom" --speeds s.csv
    \b
    Example of a FILE, and of the speeds:
      ias_kt,cas_kt          speed,ias_kt
      60,61                  stall,47
      80,80                  never exceed,140
    """
    from fleetcal.services.handbook.enter_handbook import HandbookTitle, enter_handbook

    title = HandbookTitle(
        name=table_name,
        static_source=static_source,
        flap_setting=flap_setting,
        type=type_name,
        weight_kg=weight_kg,
    )
    with open_chosen_store() as store:
        done = enter_handbook(store, title, file, speeds)
    click.echo(
        f"{done.title}: {counted(done.lines, 'line')} and {counted(done.speeds, 'speed')}, "
        f"{done.outcome}"
    )


@handbook.command("list", shared=("format",))
def list_() -> None:
    """List the handbook tables in the store.

    \b
    Example:
      fleetcal handbook list
    """
    from fleetcal.cli.handbook_views import HANDBOOKS
    from fleetcal.cli.output import emit
    from fleetcal.services.handbook.enter_handbook import list_handbooks

    with open_chosen_store() as store:
        emit(list_handbooks(store), HANDBOOKS)


@handbook.command(shared=("format",))
@_group_argument
@_port_options
@click.option(
    "--step-kt", type=Number(0.5, 100.0), default=5.0, show_default=True, help="Rows apart."
)
def compare(group: str, handbook: str | None, **options: Any) -> None:
    """Hold a handbook's table against the pooled curve of the GROUP that carries the port.

    The difference is the handbook's correction minus that of the fitted port, at
    the same airspeed: above zero, the aircraft is slower than the handbook says.

    \b
    Example:
      fleetcal handbook compare "wing boom"
    """
    from fleetcal.cli.handbook_views import COMPARISON
    from fleetcal.cli.output import emit
    from fleetcal.services.handbook.compare_handbook import compare_handbook

    with open_chosen_store() as store:
        emit(compare_handbook(store, _request(group, options), handbook), COMPARISON)


@handbook.command(shared=("format",))
@_group_argument
@_port_options
def carry(group: str, handbook: str | None, **options: Any) -> None:
    """Carry the handbook's speeds across to the port that the GROUP carries.

    Each IAS becomes CAS by the handbook's own table, and the IAS that the fitted
    port shows at that CAS is solved for, with both bands. Limits are shown as
    information: only the holder of the design data and the authority may change
    a marking.

    \b
    Example:
      fleetcal handbook carry "wing boom"
    """
    from fleetcal.cli.handbook_views import CARRIED
    from fleetcal.cli.output import emit
    from fleetcal.services.handbook.carry_speeds import carry_speeds

    with open_chosen_store() as store:
        emit(carry_speeds(store, _request(group, options), handbook), CARRIED)


def _request(group: str, options: dict[str, Any]) -> CurveRequest:
    from fleetcal.services.curves.pooled_curve import CurveRequest

    return CurveRequest(group=group, type=options.pop("type_name"), **options)
