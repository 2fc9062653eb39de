"""One change of a store, which is kept once however often it has to be tried.

When a connection is lost while a change is being kept, nobody says what became of it. The entry
that the change has in the history tells: the next try takes the lock, which it gets only when the
lost transaction has ended, and looks for that entry. If it is there, the change is kept, and the
try has only to return what the function returned; if not, the function is run again.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Generic, TypeAlias, TypeVar

from sqlalchemy import Engine, Row, Select, select
from sqlalchemy.orm import Session, SessionTransaction

from fleetcal.errors import StoreError
from fleetcal.store.acts import CHANGED
from fleetcal.store.again import again, passing
from fleetcal.store.connection import for_writing, keep_writers_out
from fleetcal.store.engines.kinds import Passing, kind_of
from fleetcal.store.history_recording import Recorder
from fleetcal.store.models import StoreChange
from fleetcal.store.touching import Touching
from fleetcal.store.type_locks import BeyondError, lock_types, met_another, refuse_beyond

Done = TypeVar("Done")
#: What tells an entry of the history from any other, of this program or another.
_Entry: TypeAlias = Row[int, datetime, str, str]


def begun(engine: Engine) -> tuple[Session, SessionTransaction]:
    """Begin now, so that a server is waited for here and not halfway."""
    session = Session(engine, expire_on_commit=False)
    try:
        transaction = session.begin()
        session.connection()
    except BaseException:
        session.close()
        raise
    return session, transaction


def begun_writing(engine: Engine, *, sharing: bool = False) -> tuple[Session, SessionTransaction]:
    """Begin a transaction that may write, alone or among those who share."""
    session, transaction = begun(for_writing(engine))
    try:
        keep_writers_out(session.connection(), sharing=sharing)
    except BaseException:
        session.close()
        raise
    return session, transaction


class Write(Generic[Done]):
    """A function that changes the store in one transaction.

    Args:
        engine: Of the store.
        work: Given a session; whatever else it changes must bear being done again.
        touching: What it touches; None stands for the whole store.
        recorded: Whether what is written is written down in the history.
    """

    def __init__(
        self,
        engine: Engine,
        work: Callable[[Session], Done],
        touching: Touching | None = None,
        *,
        recorded: bool = True,
    ) -> None:
        self._engine = engine
        self._work = work
        self._recorded = recorded
        # Without a history nothing tells what was written.
        self._touching = touching if recorded and kind_of(engine).is_shared else None
        self._doubtful: tuple[_Entry, Done] | None = None

    def kept(self, label: str, *, longest_s: float) -> Done:
        """Run it until it is kept, and return what it returned.

        Args:
            label: How the store is called in messages.
            longest_s: After this no further try is begun.

        Raises:
            StoreError: If it is not known whether the change is kept.
        """
        try:
            return again(self._once, label=label, longest_s=longest_s)
        except Exception as error:
            if self._doubtful is None:
                raise
            raise StoreError(
                f"{label}: the connection was lost while the change was being kept, and whether "
                "it is kept could not be found out",
                "look with 'fleetcal show history' before you do it again",
            ) from error

    def _once(self) -> Done:
        try:
            return self._tried()
        except Exception as error:
            is_beyond = isinstance(error, BeyondError) or met_another(error)
            if self._touching is None or not is_beyond:
                raise
        self._touching = None
        return self._tried()

    def _tried(self) -> Done:
        session, transaction = begun_writing(self._engine, sharing=self._touching is not None)
        with session:
            types = None if self._touching is None else lock_types(session, self._touching)
            if self._doubtful is not None:
                entry, done = self._doubtful
                if session.execute(_entry(entry.id)).one_or_none() == entry:
                    self._doubtful = None
                    return done
                self._doubtful = None
            recorder = Recorder(session) if self._recorded else None
            done = self._work(session)
            if recorder is not None and types is not None:
                session.flush()
                refuse_beyond(session, recorder, types)
            number = recorder.write() if recorder is not None else None
            kept_as = None if number is None else session.execute(_entry(number)).one()
            try:
                transaction.commit()
            except Exception as error:
                if kept_as is not None and passing(error) is Passing.AWAY:
                    self._doubtful = kept_as, done
                raise
            if number is not None:
                CHANGED.set(True)
            return done


def _entry(number: int) -> Select[int, datetime, str, str]:
    columns = (StoreChange.id, StoreChange.made_at, StoreChange.made_by, StoreChange.act)
    return select(*columns).where(StoreChange.id == number)
