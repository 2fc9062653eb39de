"""Open a store, and read or write it in whole transactions."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, TypeVar

from fleetcal.errors import StoreError
from fleetcal.store.acts import CHANGED, TELL
from fleetcal.store.engines.file_reading import reading_file
from fleetcal.store.location import Location, locate
from fleetcal.store.plain_reads import Reader, ask
from fleetcal.store.schema_state import ITS_REVISION, SchemaState, holds_a_store

if TYPE_CHECKING:
    from sqlalchemy import Engine
    from sqlalchemy.orm import Session

    from fleetcal.store.reads import Reading
    from fleetcal.store.touching import Touching

Done = TypeVar("Done")


class Store:
    """An open store. Use it as a context manager, or close it.

    Args:
        engine: Of a store whose tables are current; None for a file, until one is needed.
        label: How the store is called in messages.
        recorded: Whether what is written is written down in its history, which older tables lack.
        upgrade_notes: What its owner has to know of an upgrade that opening it has brought, in
            sentences.
        path: Its file; None on a server.
        patience_s: Seconds to wait for another program that writes.
        longest_s: How long a server is waited for that does not answer.
    """

    def __init__(
        self,
        engine: Engine | None,
        label: str,
        *,
        recorded: bool = False,
        upgrade_notes: tuple[str, ...] = (),
        path: Path | None = None,
        patience_s: float = 30.0,
        longest_s: float = 60.0,
    ) -> None:
        self.label = label
        self.path = path
        self.upgrade_notes = upgrade_notes
        self._recorded = recorded
        self._made = engine
        self._closed = False
        self._patience_s = patience_s
        self._longest_s = longest_s

    @property
    def _engine(self) -> Engine:
        if self._made is None:
            from fleetcal.store.engines.kinds import file_engine

            assert self.path is not None  # all others come with an engine
            self._made = file_engine(self.path, patience_s=self._patience_s)
        return self._made

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
        from fleetcal.store.explained import explained
        from fleetcal.store.writes import Write

        self._refuse_if_closed()
        with explained(self.label):
            write = Write(self._engine, work, touching, recorded=self._recorded)
            return write.kept(self.label, longest_s=self._longest_s)

    @property
    def is_shared(self) -> bool:
        """Whether writers who say what they touch may write at once."""
        if self.path is not None:
            return False  # a file has one writer at a time
        from fleetcal.store.engines.kinds import kind_of

        return kind_of(self._engine).is_shared

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Yield a session in one transaction that alone may write, and is tried once.

        For what cannot be a function: see `write`.
        """
        from fleetcal.store.again import again
        from fleetcal.store.explained import explained
        from fleetcal.store.history_recording import Recorder
        from fleetcal.store.writes import begun_writing

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
        from fleetcal.store.again import again
        from fleetcal.store.explained import explained

        self._refuse_if_closed()
        with explained(self.label):
            session = again(self._begun_reading, label=self.label, longest_s=self._longest_s)
            with session:
                yield session

    @contextmanager
    def lookup(self) -> Iterator[Reader]:
        """Yield what rows can be asked of, in one transaction that sees one state; see `ask`.

        Of a file it needs no SQLAlchemy, which `reading` does.
        """
        self._refuse_if_closed()
        if self.path is None:
            with self.reading() as session:
                yield session
            return
        with reading_file(self.path, label=self.label, patience_s=self._patience_s) as reader:
            yield reader

    def _begun_reading(self) -> Reading:
        from fleetcal.store.connection import for_reading
        from fleetcal.store.reads import Reading

        engine = for_reading(self._engine)
        session = Reading(engine, self.label, longest_s=self._longest_s, recorded=self._recorded)
        return session.begun()

    def _refuse_if_closed(self) -> None:
        if self._closed:
            raise StoreError(f"{self.label} has been closed", "open it again")

    def close(self) -> None:
        """Let go of the database."""
        self._closed = True
        if self._made is not None:
            self._made.dispose()

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
    longest_s = 2.0 * patience_s  # a server that does not answer, longer than other writers
    engine: Engine | None = None
    notes: tuple[str, ...] = ()
    if not _is_current_file(location, patience_s):
        from fleetcal.store.opening import made_current  # which needs SQLAlchemy

        engine, notes = made_current(
            location, create=create, upgrade=upgrade, patience_s=patience_s, longest_s=longest_s
        )
    for note in notes:
        TELL.get()(note)
    return Store(
        engine,
        location.label,
        recorded=True,
        upgrade_notes=notes,
        path=location.path,
        patience_s=patience_s,
        longest_s=longest_s,
    )


def _is_current_file(location: Location, patience_s: float) -> bool:
    """Tell whether a store is a file with current tables, whose pages are of one moment."""
    if location.path is None or not location.is_long_enough:
        return False
    with reading_file(location.path, label=location.label, patience_s=patience_s) as reader:
        reader.refuse_mixture(location.label)
        if not holds_a_store(reader.tables(), location.label):
            return False
        return any(SchemaState(revision).is_current for (revision,) in ask(reader, ITS_REVISION))
