"""Commands on logs as files, before anything is reduced."""

from __future__ import annotations

from pathlib import Path

import click

from fleetcal.cli.failure import warn
from fleetcal.cli.options import existing_file, file_option
from fleetcal.cli.printer import echo
from fleetcal.cli.verbs import Verb


@click.command(cls=Verb, shared=("format",))
@existing_file("log")
@file_option(
    "--mapping", help="TOML file that says which column holds what; it overrides the headings."
)
@file_option(
    "--out", help="Write what was understood as such a file, to correct and use next time."
)
def columns(log: Path, mapping: Path | None, out: Path | None) -> None:
    """Show what is understood of a log: quantity, heading, unit, range, what is missing.

    LOG is a delimited text file (plain, or packed by gzip or zip), an ICARTT
    file or an IGC flight record. What the headings leave open can be said in a
    mapping file with one line for a quantity:

    \b
      indicated_airspeed = { column = "V1", unit = "kt" }
      ground_speed = { column = 7, unit = "km/h", missing = [-1] }
      pressure_altitude = { column = "ALT", unit = "ft", believe = true }
      north = "magnetic"        # where the tracks count from
      ignore = ["V2"]           # columns to leave alone
      part = 2                  # of a log whose clock starts anew

    \b
    Example:
      fleetcal columns flight.csv
      fleetcal columns flight.csv --out recorder.toml
    """
    from fleetcal.cli.log_views import LOG_COLUMNS
    from fleetcal.cli.output import emit
    from fleetcal.services.flights.understand_log import understand_log

    found = understand_log(log, mapping, out)
    warn(found.warnings)
    if out is not None:
        echo(f"Mapping written to {out}.", err=True)
    emit(found, LOG_COLUMNS)
