"""Open a store, and read or write it in whole transactions."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import TypeVar

from sqlalchemy import Engine
from sqlalchemy.exc import ArgumentError
from sqlalchemy.orm import Session

from fleetcal.errors import StoreError
from fleetcal.store.again import LONGEST_S, TELL, again
from fleetcal.store.connection import for_reading
from fleetcal.store.engines import SERVERS, file_engine, kind_of
from fleetcal.store.explained import explained
from fleetcal.store.history_recording import CHANGED, Recorder
from fleetcal.store.location import Location, locate
from fleetcal.store.messages import not_a_store
from fleetcal.store.reads import Reading
from fleetcal.store.schema_state import SchemaState, read_schema_state
from fleetcal.store.touching import Touching
from fleetcal.store.writes import Write, begun_writing

Done = TypeVar("Done")
# SQLite's smallest page. It takes a shorter file for an empty one and would overwrite it.
_SHORTEST_FILE = 512


class Store:
    """An open store. Use it as a context manager, or close it.

    Args:
        engine: Of a store whose tables are current.
        label: How the store is called in messages.
        recorded: Whether what is written is written down in its history, which older tables lack.
        upgrade_notes: What its owner has to know of an upgrade that opening it has brought, in
            sentences.
        path: Its file; None on a server.
        longest_s: How long a server is waited for that does not answer.
    """

    def __init__(
        self,
        engine: Engine,
        label: str,
        *,
        recorded: bool = False,
        upgrade_notes: tuple[str, ...] = (),
        path: Path | None = None,
        longest_s: float = LONGEST_S,
    ) -> None:
        self.label = label
        self.path = path
        self.upgrade_notes = upgrade_notes
        self._recorded = recorded
        self._engine = engine
        self._closed = False
        self._longest_s = longest_s

    def write(self, work: Callable[[Session], Done], touching: Touching | None = None) -> Done:
        """Run a function in one transaction that alone may write, and return what it returns.

        Of those who say what they touch, on a server that can, only writers of the same aircraft
        types keep each other out.

        All of it is kept, or nothing if it raises. Where a server undid the transaction for a
        reason that passes, such as a copy that takes over, the function is run again.

        Args:
            work: Given a session; whatever else it changes must bear being done again.
            touching: All that it changes; None stands for the whole store.

        Raises:
            ReadOnlyStoreError: If the file or its folder cannot be written.
            BusyStoreError: If another program writes for too long.
            DataError: If a value breaks a rule of the tables.
        """
        self._refuse_if_closed()
        with explained(self.label):
            write = Write(self._engine, work, touching, recorded=self._recorded)
            return write.kept(self.label, longest_s=self._longest_s)

    @property
    def is_shared(self) -> bool:
        """Whether writers who say what they touch may write at once."""
        return kind_of(self._engine).is_shared

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Yield a session in one transaction that alone may write, and is tried once.

        For what cannot be a function: see `write`.
        """
        self._refuse_if_closed()
        with explained(self.label):
            begin = partial(begun_writing, self._engine)
            session, transaction = again(begin, label=self.label, longest_s=self._longest_s)
            with session, transaction:
                recorder = Recorder(session) if self._recorded else None
                yield session
                number = recorder.write() if recorder is not None else None
        if number is not None:
            CHANGED.set(True)

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Yield a session in one transaction that sees one state and cannot write.

        Where the connection is lost it goes on if it can; see `fleetcal.store.reads`.

        Raises:
            ReadOnlyStoreError: If the block tries to write.
        """
        self._refuse_if_closed()
        with explained(self.label):
            session = again(self._begun_reading, label=self.label, longest_s=self._longest_s)
            with session:
                yield session

    def _begun_reading(self) -> Reading:
        engine = for_reading(self._engine)
        session = Reading(engine, self.label, longest_s=self._longest_s, recorded=self._recorded)
        return session.begun()

    def _refuse_if_closed(self) -> None:
        if self._closed:
            raise StoreError(f"{self.label} has been closed", "open it again")

    def close(self) -> None:
        """Let go of the database."""
        self._closed = True
        self._engine.dispose()

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def open_store(
    where: str | Path | None = None,
    *,
    create: bool = True,
    upgrade: bool = True,
    patience_s: float = 30.0,
) -> Store:
    """Open a store, make it if it is not there, and upgrade it if it is older.

    Args:
        where: A file, an address (``postgresql://...``), or None for the environment variable
            ``FLEETCAL_STORE`` and, without it, the user's own data folder.
        create: Whether a store that is not there is made.
        upgrade: Whether an older store is upgraded; it is refused otherwise.
        patience_s: Seconds to wait for another program that writes.

    Raises:
        StoreError: If it is missing and not to be made, or cannot be reached.
        NotAStoreError: If the file or database is something else.
        NewerStoreError: If a newer program wrote it.
        ReadOnlyStoreError: If it must be made or upgraded and cannot be written.
    """
    location = locate(where)
    with explained(location.label):
        engine = _existing_or_new(location, create, patience_s)
        try:
            notes = _make_current(engine, location, patience_s, create=create, upgrade=upgrade)
        except BaseException:
            engine.dispose()
            raise
    for note in notes:
        TELL.get()(note)
    return Store(
        engine,
        location.label,
        recorded=True,
        upgrade_notes=notes,
        path=location.path,
        longest_s=_longest_wait(patience_s),
    )


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
    elif 0 < path.stat().st_size < _SHORTEST_FILE:
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


def _make_current(
    engine: Engine, location: Location, patience_s: float, *, create: bool, upgrade: bool
) -> tuple[str, ...]:
    """Make or upgrade the tables unless they are current already; return notes on the upgrade."""
    standing = again(
        partial(_standing, engine, location.label),
        label=location.label,
        known=location.has_copies,
        longest_s=_longest_wait(patience_s),
    )
    if standing.is_current:
        return ()
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


def _longest_wait(patience_s: float) -> float:
    """Return how long to wait for a server that does not answer: longer than for other writers."""
    return 2.0 * patience_s


def _missing(location: Location) -> StoreError:
    """Return the error for a store that is not there."""
    return StoreError(
        f"there is no store at {location.label}",
        "'fleetcal reduce FLIGHT --airframe TAG --new-airframe' begins one, or load a fleet "
        "description; --store names another place",
    )
