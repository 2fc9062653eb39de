"""Commands on the fleet description."""

from __future__ import annotations

from pathlib import Path

import click

from fleetcal.cli.airframe_command import airframe
from fleetcal.cli.failure import inform
from fleetcal.cli.option_types import Number
from fleetcal.cli.options import chosen_place, existing_file, open_chosen_store, own_tag_argument
from fleetcal.cli.printer import echo
from fleetcal.cli.verbs import VerbGroup


@click.group(cls=VerbGroup)
def fleet() -> None:
    """Describe one airframe, or a fleet: types, static sources, engines, propellers, fits.

    'fleetcal show fleet' shows it, and writes it back into a file.

    \b
    Example:
      fleetcal fleet airframe C-07 --type "Corrie 2" --static-source "wing boom"
      fleetcal fleet load fleet.csv
      fleetcal fleet load fleet.toml
      fleetcal fleet temperature C-07 --shows ambient
    """


fleet.add_command(airframe)


@fleet.command()
@existing_file("file")
def load(file: Path) -> None:
    """Load a fleet from a FILE, all or nothing: a spreadsheet saved as CSV, or TOML.

    What is new is added, what differs is changed, nothing is removed. The store
    is made if there is none yet.

    A spreadsheet has a row for each airframe, and one more for each change of its
    equipment, with the day. Only the tag is needed; what else is left empty is as
    in the airframe's row before, or open. 'fleetcal fleet template' writes one to
    start from. See 'fleetcal manual fleet'.

    \b
    Example:
      fleetcal fleet load fleet.csv
      fleetcal fleet load fleet.toml
    """
    from fleetcal.cli.output import say
    from fleetcal.services.fleet.describe_fleet import load_fleet

    done = load_fleet(chosen_place(), file, inform)
    echo(
        f"{done.file}: {done.added} added, {done.changed} changed, "
        f"{done.unchanged} unchanged, in {done.store}"
    )
    for sentence in done.supposed:
        say(sentence)


@fleet.command()
def template() -> None:
    """Print a fleet of two invented airframes as CSV, to fill in as a spreadsheet.

    \b
    Example:
      fleetcal fleet template > fleet.csv
    """
    from fleetcal.services.fleet.sheet_columns import TEMPLATE

    echo(TEMPLATE, nl=False)


@fleet.command()
@own_tag_argument("airframe")
@click.option(
    "--shows",
    type=click.Choice(["ambient", "probe", "unknown"]),
    required=True,
    help="Outside temperature, what its probe feels, or unknown again.",
)
@click.option(
    "--recovery-factor",
    type=Number(0.0, 1.0),
    help="Of the probe, where it is known; 0.8 with u 0.1 is taken if left out.",
)
def temperature(airframe: str, shows: str, recovery_factor: float | None) -> None:
    """State what the temperature display of an airframe shows.

    Many displays show outside temperature, with the ram rise taken out; others
    show what the probe feels, which at 100 kt is up to 1.3 degrees too much. A
    flight cannot show which. Until it is stated, anything between is taken as
    equally likely, which makes every point less certain. 'fleetcal reduce
    --again' brings stored flights up to date.

    \b
    Example:
      fleetcal fleet temperature C-07 --shows ambient
      fleetcal fleet temperature C-12 --shows probe --recovery-factor 0.75
    """
    if recovery_factor is not None and shows != "probe":
        raise click.UsageError("'--recovery-factor' goes with '--shows probe'")
    from fleetcal.services.fleet.describe_fleet import set_thermometer

    with open_chosen_store() as store:
        changed = set_thermometer(
            store, airframe, None if shows == "unknown" else shows, recovery_factor
        )
    echo(f"{airframe}: {changed}")
