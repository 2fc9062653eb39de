"""Commands on the store as a whole."""

from __future__ import annotations

from pathlib import Path

import click

from fleetcal.cli.options import chosen_place, existing_file, file_option, open_chosen_store
from fleetcal.cli.output import emit, say
from fleetcal.cli.printer import echo
from fleetcal.cli.verbs import VerbGroup


@click.group(cls=VerbGroup)
def store() -> None:
    """Check the store, back it up, bring a backup back.

    \b
    Example:
      fleetcal store check
      fleetcal store backup --out monday.sqlite3
    """


@store.command(shared=("format",))
def check() -> None:
    """Check tables, references, hashes and fits, and that points follow from their legs.

    Nothing is changed. Faults are listed, and end in exit code 4.

    \b
    Example:
      fleetcal store check
    """
    from fleetcal.cli.share_views import CHECKED
    from fleetcal.services.keeping.check_store import check_store, refuse_faults

    with open_chosen_store() as opened:
        checked = check_store(opened)
    emit(checked, CHECKED)
    refuse_faults(checked)


@store.command()
@file_option("--out", "file", required=True, help="File to write; it must be new.")
def backup(file: Path) -> None:
    """Copy the store into a new file, consistent also while others write.

    The file is a store like any other, also if yours is on a server.

    \b
    Example:
      fleetcal store backup --out monday.sqlite3
    """
    from fleetcal.services.keeping.copy_store import backup_store

    backup_store(chosen_place(), file)
    say(f"The backup is written to {file}.")


@store.command()
@existing_file("file")
@click.option("--replace", is_flag=True, help="Discard what the store holds now.")
def restore(file: Path, replace: bool) -> None:
    """Put the backup FILE into the store, all or nothing; the FILE is left as it is.

    \b
    Example:
      fleetcal store restore monday.sqlite3 --store new.sqlite3
    """
    from fleetcal.services.keeping.copy_store import restore_store

    done = restore_store(chosen_place(), file, replace=replace)
    say(f"{done.rows} rows, {done.points} of them points, are brought back from {done.backup}.")


@store.command()
@click.option("--read", "readers", multiple=True, metavar="NAME", help="Role that may read.")
@click.option("--write", "writers", multiple=True, metavar="NAME", help="Role that may write.")
@click.option(
    "--schema", default="public", show_default=True, metavar="NAME", help="Schema of the tables."
)
@click.option("--existing", is_flag=True, help="The roles are there already: do not make them.")
def roles(readers: tuple[str, ...], writers: tuple[str, ...], schema: str, existing: bool) -> None:
    """Print the SQL by which the owner of a store on a server lets others read or write it.

    Nothing is run and nothing is reached. Readers can use every command that changes nothing;
    writers can use all but the upgrade of a store, which stays with its owner. Roles are made
    as groups: afterwards the owner gives them to people, as in GRANT members TO anna.

    \b
    Example:
      fleetcal store roles --read members --write officers > roles.sql
      psql club -f roles.sql
    """
    from fleetcal.services.keeping.copy_store import roles_sql

    sql = roles_sql(chosen_place(), readers, writers, schema=schema, make=not existing)
    echo(sql, nl=False)
