"""Bring a store to the tables this program works with, or say why that cannot be.

All of one upgrade is one transaction, on both databases. Of an SQLite store that
holds data a copy is kept first, beside it: ``<file>.before-<revision>``.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from alembic.util.exc import CommandError
from sqlalchemy import Connection, Engine
from sqlalchemy.exc import IntegrityError

from fleetcal.errors import NewerStoreError, StoreError
from fleetcal.store.again import again
from fleetcal.store.connection import for_upgrading, keep_writers_out
from fleetcal.store.engines.kinds import keep_copy, kind_of
from fleetcal.store.explained import broken_rule, upgrading_explained
from fleetcal.store.history_upgrade import doubted_before, go_on
from fleetcal.store.schema_state import REVISION_TABLE, SchemaState, read_schema_state


def scripts_folder() -> Path:
    """Return the folder of the upgrade steps: beside the package, else at the repository's root.

    Raises:
        StoreError: If the installation lacks them.
    """
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "migrations", package.parent / "migrations"):
        if (folder / "env.py").is_file():
            return folder
    raise StoreError(
        "the upgrade steps of the store are missing from this installation",
        "install fleetcal again",
    )


def upgrade(engine: Engine, label: str, *, path: Path | None, patience_s: float) -> tuple[str, ...]:
    """Bring a store to the newest revision, in one transaction.

    Args:
        engine: On SQLite with foreign keys off: rebuilding a parent table would count as deleting
            its rows.
        label: How the store is called in messages.
        path: File of an SQLite store.
        patience_s: Seconds to wait for other programs.

    Returns:
        What its owner has to know of it, in sentences.

    Raises:
        NewerStoreError: If the store has a revision that this program does not know.
        StoreError: If rows would be left without the rows they refer to.
    """
    # Two programs that begin one store on a server cannot lock what is not there yet: the
    # later one is refused the first table, looks again and finds the store.
    return again(partial(_upgrade, engine, label, path, patience_s), label=label, making=True)


def _upgrade(engine: Engine, label: str, path: Path | None, patience_s: float) -> tuple[str, ...]:
    config = alembic_config()
    scripts = ScriptDirectory.from_config(config)
    newest = scripts.get_current_head()
    with for_upgrading(engine).connect() as connection, connection.begin():
        standing = read_schema_state(connection, label)
        if standing.revision is not None:
            with upgrading_explained(label, standing.revision, newest):
                keep_writers_out(connection)
            # Looked up again under the lock: another program may have been quicker.
            standing = read_schema_state(connection, label)
        if standing.revision == newest:
            return ()
        refuse_unknown(scripts, standing, label)
        if path is not None and standing.revision is not None:
            _try_to_write(connection)
            keep_copy(path, path.with_name(f"{path.name}.before-{newest}"), patience_s)
        config.attributes["connection"] = connection
        doubted = doubted_before(connection)
        kind_of(connection).ready_to_upgrade()
        try:
            with upgrading_explained(label, standing.revision, newest):
                command.upgrade(config, "head")
                go_on(connection, doubted, str(newest))
        except IntegrityError as error:
            if standing.revision is None:
                raise
            raise StoreError(
                f"{label} cannot be upgraded to revision {newest}: {broken_rule(error)}",
                "the store was left as it was",
            ) from error
        refuse_orphans(connection, label)
    return tuple(config.attributes.get("told", ()))


def alembic_config() -> Config:
    """Return alembic's settings, without any file and without any address."""
    config = Config()
    config.set_main_option("script_location", str(scripts_folder()).replace("%", "%%"))
    return config


def refuse_unknown(scripts: ScriptDirectory, standing: SchemaState, label: str) -> None:
    """Raise if the store's revision is none of ours.

    Raises:
        NewerStoreError: If so.
    """
    if standing.revision is None:
        return
    try:
        scripts.get_revision(standing.revision)
    except CommandError as error:
        raise NewerStoreError(
            f"{label} was written by a newer fleetcal (revision {standing.revision})",
            "install the newest fleetcal; this one leaves the store as it is",
        ) from error


def refuse_orphans(connection: Connection, label: str) -> None:
    """Raise if a row refers to a row that is not there, where tables are rebuilt.

    Raises:
        StoreError: If so.
    """
    broken = list(kind_of(connection).orphans(connection))
    if broken:
        table, row, parent = broken[0]
        raise StoreError(
            f"{label}: {len(broken)} rows lost what they refer to, first {table} {row} -> {parent}",
            "the store was left as it was",
        )


def _try_to_write(connection: Connection) -> None:
    """Find out before a copy is made whether the file can be written at all."""
    connection.exec_driver_sql(f"UPDATE {REVISION_TABLE} SET version_num = version_num")
