"""Commands on the logs that are kept in the store."""

from __future__ import annotations

from pathlib import Path

import click

from fleetcal.cli.options import existing_file, file_option, open_chosen_store
from fleetcal.cli.output import say
from fleetcal.cli.verbs import VerbGroup


@click.group(cls=VerbGroup)
def logs() -> None:
    """Keep recorded flights in the store, write them out again, drop them.

    A log tells where somebody flew, second by second. It is kept only if you ask
    for it, and leaves by 'share' only if you ask for that too; but a copy or a
    backup of the store holds all of it. With its log kept, a flight can be
    reduced again years later by a better method. 'fleetcal show logs' lists them.

    \b
    Example:
      fleetcal logs keep flight.csv
      fleetcal logs save flight.csv --out again.csv
    """


@logs.command()
@existing_file("file")
def keep(file: Path) -> None:
    """Keep the log FILE that was reduced before, packed to about an eighth.

    \b
    Example:
      fleetcal logs keep flight.csv
    """
    from fleetcal.services.keeping.kept_logs import keep as keep_it

    with open_chosen_store() as store:
        done = keep_it(store, file)
    word = "is kept already" if done.already else "is kept"
    say(f"The log {done.file} {word}: {done.file_bytes} bytes, SHA-256 {done.sha256[:12]}.")


@logs.command()
@click.argument("log")
@file_option("--out", "file", required=True, help="File to write; it must be new.")
def save(log: str, file: Path) -> None:
    """Write a kept LOG to a new file, byte for byte as it was; its hash is checked.

    LOG is the name of its file, or the beginning of its SHA-256.

    \b
    Example:
      fleetcal logs save flight.csv --out again.csv
    """
    from fleetcal.services.keeping.kept_logs import save as save_it

    with open_chosen_store() as store:
        done = save_it(store, log, file)
    say(f"The log {done.file} is written: {done.file_bytes} bytes, SHA-256 {done.sha256[:12]}.")


@logs.command()
@click.argument("log")
def drop(log: str) -> None:
    """Delete a kept LOG for good; legs, points and climbs that came of it stay.

    This cannot be taken back. Backups that were made before still hold it.

    \b
    Example:
      fleetcal logs drop flight.csv
    """
    from fleetcal.services.keeping.kept_logs import drop as drop_it

    with open_chosen_store() as store:
        done = drop_it(store, log)
    say(f"The log {done.file} is dropped: {done.file_bytes} bytes, SHA-256 {done.sha256[:12]}.")
