"""Make a store that is not there, upgrade an older one, reach one on a server."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from sqlalchemy import Engine
from sqlalchemy.exc import ArgumentError

from fleetcal.errors import StoreError
from fleetcal.store.again import again
from fleetcal.store.connection import for_reading
from fleetcal.store.engines.kinds import SERVERS, file_engine, kind_of
from fleetcal.store.explained import explained
from fleetcal.store.location import SHORTEST_FILE, Location
from fleetcal.store.messages import not_a_store
from fleetcal.store.schema_state import SchemaState, read_schema_state


def made_current(
    location: Location, *, create: bool, upgrade: bool, patience_s: float, longest_s: float
) -> tuple[Engine, tuple[str, ...]]:
    """Return an engine on a store whose tables are current, with notes on its upgrade.

    Args:
        create: Whether a store that is not there is made.
        upgrade: Whether an older store is upgraded; it is refused otherwise.
        patience_s: Seconds to wait for another program that writes.
        longest_s: How long a server is waited for that does not answer.

    Raises:
        StoreError: As `open_store`.
    """
    with explained(location.label):
        engine = _existing_or_new(location, create, patience_s)
        try:
            standing = again(
                partial(_standing, engine, location.label),
                label=location.label,
                known=location.has_copies,
                longest_s=longest_s,
            )
            notes: tuple[str, ...] = ()
            if not standing.is_current:
                notes = _brought_up(engine, location, standing, patience_s, (create, upgrade))
        except BaseException:
            engine.dispose()
            raise
    return engine, notes


def _existing_or_new(location: Location, create: bool, patience_s: float) -> Engine:
    """Return an engine on what is there, or on a new empty file."""
    if location.url is not None:
        kind = SERVERS[location.url.get_backend_name()]
        try:
            return kind.engine(location.url, patience_s=patience_s)
        except ImportError as error:
            raise StoreError(
                f"{location.label}: the driver for this database is not installed ({error.name})",
                f'install it with: pip install "fleetcal[{kind.extra}]"',
            ) from error
        except ArgumentError as error:
            raise StoreError(
                f"{location.label}: there is no driver {location.url.get_driver_name()}",
                f"write {kind.name}://{kind.example}",
            ) from error
    path = location.path
    assert path is not None  # a location is one or the other
    try:
        return _engine_of_file(path, location, create, patience_s)
    except OSError as error:
        raise StoreError(
            f"{location.label}: {error.strerror}", "check the path and its rights"
        ) from error


def _engine_of_file(path: Path, location: Location, create: bool, patience_s: float) -> Engine:
    if path.is_dir():
        raise not_a_store(location.label, "it is a folder")
    if not path.exists():
        if not create:
            raise _missing(location)
        _ready_folder(path.parent, location)
    elif not path.is_file():
        raise not_a_store(location.label, "it is a pipe or a device")
    elif 0 < path.stat().st_size < SHORTEST_FILE:
        raise not_a_store(location.label, "it is too short to be a database file")
    return file_engine(path, patience_s=patience_s, mode="rwc" if create else "rw")


def _ready_folder(folder: Path, location: Location) -> None:
    """Make the user's own data folder; a folder that somebody named must be there."""
    if folder.is_dir():
        return
    if not location.is_default:
        raise StoreError(
            f"{location.label}: the folder {folder} does not exist", "make the folder first"
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(
            f"the folder {folder} cannot be made: {error.strerror}",
            "name another place with --store or FLEETCAL_STORE",
        ) from error


def _brought_up(
    engine: Engine,
    location: Location,
    standing: SchemaState,
    patience_s: float,
    may: tuple[bool, bool],
) -> tuple[str, ...]:
    """Make or upgrade the tables, where both or either may be done; return notes on it."""
    create, upgrade = may
    if standing.revision is None and not create:
        raise _missing(location)
    if not upgrade:
        raise StoreError(
            f"{location.label} is of an older program", "any other command upgrades it"
        )
    from fleetcal.store.upgrade import upgrade as bring_up  # alembic costs start-up time

    if location.path is None:
        return bring_up(engine, location.label, path=None, patience_s=patience_s)
    rebuilding = file_engine(location.path, patience_s=patience_s, foreign_keys=False)
    try:
        return bring_up(rebuilding, location.label, path=location.path, patience_s=patience_s)
    finally:
        rebuilding.dispose()


def _standing(engine: Engine, label: str) -> SchemaState:
    with for_reading(engine).connect() as connection, connection.begin():
        kind_of(connection).refuse_mixture(connection, label)
        return read_schema_state(connection, label)


def _missing(location: Location) -> StoreError:
    """Return the error for a store that is not there."""
    return StoreError(
        f"there is no store at {location.label}",
        "'fleetcal reduce FLIGHT --airframe TAG --new-airframe' begins one, or load a fleet "
        "description; --store names another place",
    )
