"""Commands on handbook tables and speeds."""

from __future__ import annotations

from pathlib import Path
from typing import Unpack

import click

from fleetcal.cli.failure import inform
from fleetcal.cli.options import (
    GroupOptions,
    curve_request,
    existing_file,
    file_option,
    flap_option,
    group_argument,
    open_chosen_store,
    order_option,
    pool_options,
    source_option,
    step_option,
    type_option,
    weight_option,
)
from fleetcal.cli.output import say
from fleetcal.cli.verbs import VerbGroup
from fleetcal.plain_text import sentence
from fleetcal.wording import counted


@click.group(cls=VerbGroup)
def handbook() -> None:
    """Enter what a handbook prints, and compare it with the static source that is fitted.

    \b
    Example:
      fleetcal handbook enter table.csv --name "first edition" --static-source "wing boom"
      fleetcal handbook compare "mid-fuselage raised disc pair"
      fleetcal handbook compare "mid-fuselage raised disc pair" --carry
    """


@handbook.command()
@existing_file("file")
@click.option(
    "--name", "table_name", required=True, metavar="TEXT", help="What the table is called."
)
@source_option(help="What the handbook was flown with; one of its own if left out.")
@file_option("--speeds", help="CSV file of its speeds.")
@weight_option(help="Its weight; the reference weight if left out.")
@flap_option
@type_option
def enter(
    file: Path,
    table_name: str,
    static_source: str | None,
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
      fleetcal handbook enter table.csv --name first --speeds s.csv
      fleetcal handbook enter table.csv --name first --static-source "wing boom"
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
        done = enter_handbook(store, title, file, speeds, inform)
    say(
        sentence(
            f"{done.title}: {counted(done.lines, 'line')} and {counted(done.speeds, 'speed')}, "
            f"{done.outcome}"
        )
    )


@handbook.command(shared=("format", "details"))
@group_argument("group")
@type_option
@flap_option
@pool_options
@click.option(
    "--name",
    "table_name",
    metavar="TEXT",
    help="What the table is called; may be left out if there is one.",
)
@weight_option(help="Weight for the airspeeds; the handbook table's if left out.")
@order_option
@step_option(help="Rows apart, kt; 5 if left out.")
@click.option("--carry", is_flag=True, help="Carry its speeds across, in place of the table.")
def compare(
    group: str,
    table_name: str | None,
    step: float | None,
    carry: bool,
    **options: Unpack[GroupOptions],
) -> None:
    """Compare a handbook's table with the curve of an airframe or a group.

    GROUP is the TAG of an airframe, for its own curve, or the name of a group.

    The difference is the handbook's correction minus that of the fitted source, at
    the same airspeed: above zero, the aircraft is slower than the handbook says.

    With --carry, each speed of the handbook becomes CAS by the handbook's own
    table, and the IAS that the fitted source shows at that CAS is solved for, with
    both bands. Limits are shown as information: only the holder of the design data
    and the authority may change a marking.

    \b
    Example:
      fleetcal handbook compare C-07
      fleetcal handbook compare "wing boom"
      fleetcal handbook compare "wing boom" --carry
    """
    if carry and step is not None:
        raise click.UsageError("'--step' is for the table, not for '--carry'.")
    from fleetcal.cli.handbook_views import CARRIED, COMPARISON, OWN_CARRIED, OWN_COMPARISON
    from fleetcal.cli.output import emit
    from fleetcal.services.handbook.carry_speeds import carry_speeds
    from fleetcal.services.handbook.compare_handbook import compare_handbook

    request = curve_request(group, options, step_kt=step or 5.0)
    with open_chosen_store() as store:
        if carry:
            speeds = carry_speeds(store, request, table_name)
            emit(speeds, CARRIED if speeds.airframe is None else OWN_CARRIED)
        else:
            found = compare_handbook(store, request, table_name)
            emit(found, COMPARISON if found.airframe is None else OWN_COMPARISON)
