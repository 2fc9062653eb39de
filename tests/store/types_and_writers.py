"""A store of several types, and writers that can be held in the middle of their transaction."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.store import (
    NewSortie,
    Store,
    Touching,
    add_sortie,
    add_source,
    open_store,
    save_description,
)
from fleetcal.store.models import Sortie, SourceFile
from tests.store.invented_rows import FLEET, MOMENT, POINT

#: How long a writer is given to be done, and how long it is watched to see that it waits.
LONG_S, SHORT_S = 20.0, 0.4


def type_name(number: int) -> str:
    return f"Corrie {number}"


def tag(number: int) -> str:
    """Return the airframe of a type."""
    return f"T-{number:02d}"


def fill_types(store: Store, count: int) -> None:
    """Put so many types into a store, from 1, each with one airframe."""
    kind, airframe = FLEET.types[0], FLEET.airframes[0]
    fleet = replace(
        FLEET,
        types=tuple(replace(kind, name=type_name(n)) for n in range(1, count + 1)),
        airframes=tuple(
            replace(airframe, tag=tag(n), type=type_name(n)) for n in range(1, count + 1)
        ),
        handbooks=(),
    )
    store.write(lambda session: save_description(session, fleet))


def fly(session: Session, number: int, file: str) -> int:
    """Store a flight of a type's airframe from a file, and return how many the file had."""
    known = session.scalar(select(SourceFile).where(SourceFile.sha256 == file))
    if known is not None:
        return len(
            session.scalars(select(Sortie.id).where(Sortie.source_file_id == known.id)).all()
        )
    source = add_source(session, file, f"{file[:6]}.csv", "points", now=MOMENT)
    flight = NewSortie(
        airframe=tag(number), flown_on=date(2018, 1, 1), weight_kg=590.0, track_reference="true"
    )
    add_sortie(session, source, flight, [], [POINT], now=MOMENT)
    return 0


class Writer(threading.Thread):
    """A program of its own that writes once.

    Args:
        url: Of the store.
        work: What it writes.
        touching: What it says that it touches.
        hold: Until when it stays in its transaction.
    """

    def __init__(
        self,
        url: str,
        work: Callable[[Session], Any],
        touching: Touching | None = None,
        hold: threading.Event | None = None,
    ) -> None:
        super().__init__(daemon=True)
        self.in_it, self.tries = threading.Event(), 0
        self.result: Any = None
        self.error: BaseException | None = None
        self._url, self._work, self._touching, self._hold = url, work, touching, hold

    def run(self) -> None:
        try:
            with open_store(self._url, create=False) as store:
                self.result = store.write(self._held, self._touching)
        except BaseException as error:
            self.error = error

    def _held(self, session: Session) -> Any:
        self.tries += 1
        done = self._work(session)
        session.flush()
        self.in_it.set()
        if self._hold is not None:
            assert self._hold.wait(LONG_S)
        return done

    def waits(self) -> bool:
        """Tell whether it does not get into its transaction."""
        return not self.in_it.wait(SHORT_S)

    def is_done(self) -> bool:
        """Tell whether it ends well soon."""
        self.join(LONG_S)
        return not self.is_alive() and self.error is None


@contextmanager
def held(url: str, work: Callable[[Session], Any], touching: Touching | None) -> Iterator[Writer]:
    """Hold a writer in its transaction while the block lasts."""
    release = threading.Event()
    writer = Writer(url, work, touching, release)
    writer.start()
    try:
        assert writer.in_it.wait(LONG_S), writer.error
        yield writer
    finally:
        release.set()
        writer.join(LONG_S)
    assert writer.error is None


def started(*words: Any) -> Writer:
    """Return a writer that has begun to try."""
    writer = Writer(*words)
    writer.start()
    return writer
