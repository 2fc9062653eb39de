"""Commands on the fleet description."""

from __future__ import annotations

from pathlib import Path

import click

from fleetcal.cli.options import (
    Number,
    chosen_place,
    existing_file,
    open_chosen_store,
)
from fleetcal.cli.verbs import VerbGroup


@click.group(cls=VerbGroup)
def fleet() -> None:
    """Describe the fleet: types, static sources, engines, propellers, airframes, fits.

    \b
    Example:
      fleetcal fleet load fleet.toml
      fleetcal fleet show
    """


@fleet.command()
@existing_file("file")
def load(file: Path) -> None:
    """Load a fleet description from a TOML FILE, all or nothing.

    What is new is added, what differs is changed, nothing is removed. The store
    is made if there is none yet.

    \b
    Example:
      fleetcal fleet load fleet.toml
    """
    from fleetcal.services.fleet.describe_fleet import load_fleet

    done = load_fleet(chosen_place(), file)
    click.echo(
        f"{done.file}: {done.added} added, {done.changed} changed, "
        f"{done.unchanged} unchanged, in {done.store}"
    )


@fleet.command(shared=("format",))
def show() -> None:
    """Show airframes and what each carried from which date.

    \b
    Example:
      fleetcal fleet show --format csv
    """
    from fleetcal.cli.output import emit
    from fleetcal.cli.views import FLEET
    from fleetcal.services.fleet.describe_fleet import show_fleet

    with open_chosen_store() as store:
        emit(show_fleet(store), FLEET)


@fleet.command()
@click.argument("airframe", metavar="TAG")
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
    """Say what the temperature display of an airframe shows.

    Many displays show outside temperature, with the ram rise taken out; others
    show what the probe feels, which at 100 kt is up to 1.3 degrees too much. It
    cannot be told from a flight. Until it is said, anything between is taken to
    be as likely, and every point is so much less certain. 'fleetcal reduce
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
    click.echo(f"{airframe}: {changed}")


@fleet.command()
@click.argument("file", type=click.Path(path_type=Path), required=False)
def write(file: Path | None) -> None:
    """Write the fleet description to FILE, or to standard output.

    \b
    Example:
      fleetcal fleet write fleet-copy.toml
    """
    from fleetcal.services.fleet.describe_fleet import fleet_toml
    from fleetcal.whole_file import write_file_whole

    with open_chosen_store() as store:
        text = fleet_toml(store)
    if file is None:
        click.echo(text, nl=False)
    else:
        write_file_whole(file, text)
        click.echo(f"{file} written", err=True)
