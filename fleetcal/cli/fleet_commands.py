"""Commands on the fleet description."""

from __future__ import annotations

from pathlib import Path

import click

from fleetcal.cli.failure import ExplainingGroup
from fleetcal.cli.options import (
    chosen_place,
    existing_file,
    format_option,
    open_chosen_store,
)


@click.group(cls=ExplainingGroup)
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


@fleet.command()
@format_option
def show(output_format: str) -> None:
    """Show airframes and what each carried from which date.

    \b
    Example:
      fleetcal fleet show --format csv
    """
    from fleetcal.cli.output import emit
    from fleetcal.cli.views import FLEET
    from fleetcal.services.fleet.describe_fleet import show_fleet

    with open_chosen_store() as store:
        emit(show_fleet(store), FLEET, output_format)


@fleet.command()
@click.argument("file", type=click.Path(path_type=Path), required=False)
def write(file: Path | None) -> None:
    """Write the fleet description to FILE, or to standard output.

    \b
    Example:
      fleetcal fleet write fleet-copy.toml
    """
    from fleetcal.services.fleet.describe_fleet import fleet_toml
    from fleetcal.services.write_file import write_text

    with open_chosen_store() as store:
        text = fleet_toml(store)
    if file is None:
        click.echo(text, nl=False)
    else:
        write_text(file, text)
        click.echo(f"{file} written", err=True)
