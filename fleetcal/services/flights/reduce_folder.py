"""Reduce a whole folder of flights: others compute, this process alone writes the store.

The files are stored in their order, each with what was in the store before it,
so that the result is the same for any number of processes and the same as
reducing the files one by one.

Only what is supposed of the scatter depends on what was stored before, where the legs of a
flight show none of their own: such a flight is solved again if that has changed meanwhile.
"""

from __future__ import annotations

import hashlib
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from fleetcal.errors import DataError
from fleetcal.plain_file import bytes_of
from fleetcal.services.flights.borrowed_scatter import borrowed_scatter
from fleetcal.services.flights.changed_options import Given
from fleetcal.services.flights.folder_crew import Crew
from fleetcal.services.flights.folder_list import FolderFlight
from fleetcal.services.flights.folder_work import (
    Task,
    Trouble,
    explained,
    reading_task,
    solving_task,
)
from fleetcal.services.flights.handed_in import HandedIn, hand_in
from fleetcal.services.flights.keep_reduction import (
    keep_reduction,
    known_reduction,
    packed_if,
)
from fleetcal.services.flights.known_to_store import held_against_store
from fleetcal.services.flights.prepare_flight import (
    PreparedFlight,
    kept_document,
    prepare_flight,
    solve_prepared,
)
from fleetcal.services.flights.season_says import SeasonSpeed, season_speeds
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.solve_flight import SolvedFlight
from fleetcal.services.repeated_flight import RepeatedFlightError
from fleetcal.store import (
    Store,
    Touching,
    find_airframe,
)

STORED, KNOWN, FAILED = "stored", "known already", "failed"
#: Passed over, because the store has the flight from another file.
REPEATED = "same flight"


@dataclass(frozen=True, kw_only=True)
class FolderLine:
    """What became of one file.

    Attributes:
        outcome: ``stored``, ``known already``, ``same flight`` or ``failed``.
        runs: Solved; None where nothing was.
        not_accepted: Of these, kept but not accepted.
    """

    file: str
    airframe: str | None
    outcome: str
    runs: int | None = None
    not_accepted: int | None = None
    sortie_id: int | None = None
    error: str = ""
    hint: str = ""
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class FolderReduction:
    """What became of a folder of flights.

    Attributes:
        files: In order.
        stored, known, failed, repeated: Counts of files.
        season: What the flights that are in the store say together.
    """

    files: tuple[FolderLine, ...]
    stored: int
    known: int
    failed: int
    season: tuple[SeasonSpeed, ...] = ()
    repeated: int = 0


def reduce_folder(
    store: Store,
    flights: Sequence[FolderFlight],
    settings: ReductionSettings,
    crew: Crew,
    tell: Callable[[FolderLine], None] = lambda line: None,
) -> FolderReduction:
    """Reduce flights and keep their points, each flight all or nothing.

    A file that cannot be reduced does not stop the others. After an
    interruption whole flights are in the store, and doing the same again goes
    on from there.

    Args:
        flights: With an airframe each.
        crew: Who computes; a flight that is lost with its worker is tried once more.
        tell: Called with each file as it is done.

    Raises:
        StoreError: If the store cannot be written.
        WorkersError: If nobody is left to compute, or a worker's program is another one.
    """
    lines = []
    for line in _Way(store=store, settings=settings, crew=crew).lines(flights):
        tell(line)
        lines.append(line)
    outcomes = [line.outcome for line in lines]
    kept: dict[str, set[int]] = {}
    for line in lines:
        if line.airframe is not None and line.sortie_id is not None:
            kept.setdefault(line.airframe, set()).add(line.sortie_id)
    return FolderReduction(
        files=tuple(lines),
        stored=outcomes.count(STORED),
        known=outcomes.count(KNOWN),
        failed=outcomes.count(FAILED),
        season=season_speeds(store, kept),
        repeated=outcomes.count(REPEATED),
    )


@dataclass(kw_only=True)
class _Begun:
    """A flight on its way; `line` once its end is known."""

    flight: FolderFlight
    line: FolderLine | None = None
    work: HandedIn | None = None
    prepared: PreparedFlight | None = None
    borrowed_mps: float | None = None


@dataclass(kw_only=True)
class _Way:
    """The way of the flights: read, prepare, solve, store; some flights ahead of the stored one."""

    store: Store
    settings: ReductionSettings
    crew: Crew
    reading: deque[_Begun] = field(default_factory=deque)
    solving: deque[_Begun] = field(default_factory=deque)

    def lines(self, flights: Sequence[FolderFlight]) -> Iterator[FolderLine]:
        """Yield what became of each flight, in their order."""
        waiting, ahead = deque(flights), 2 * self.crew.at_once
        try:
            while waiting or self.reading or self.solving:
                while waiting and len(self.reading) < ahead:
                    self.reading.append(self._begin(waiting.popleft()))
                while self.reading and len(self.solving) < ahead:
                    begun = self.reading.popleft()
                    self._prepare(begun)
                    self.solving.append(begun)
                yield self._finish(self.solving.popleft())
        finally:
            for begun in (*self.reading, *self.solving):
                if begun.work is not None:
                    begun.work.let_go()

    def _begin(self, flight: FolderFlight) -> _Begun:
        """Hand in the reading, unless the content is in the store."""
        begun = _Begun(flight=flight)
        task = explained(lambda: self._reading(begun))
        if isinstance(task, Trouble):
            begun.line = _failed(flight, task)
        elif task is not None:
            begun.work = hand_in(self.crew, flight.name, task)
        return begun

    def _reading(self, begun: _Begun) -> Task | None:
        flight = begun.flight
        try:
            content = bytes_of(flight.path)
        except OSError as error:
            raise DataError(f"{flight.name}: {error.strerror}", "check the name") from error
        begun.line = self._known(flight, hashlib.sha256(content).hexdigest())
        if begun.line is not None:
            return None
        begun.flight = self._with_display(flight)
        sent = None if self.crew.sees_files else content
        return reading_task(begun.flight, self.settings, sent)

    def _with_display(self, flight: FolderFlight) -> FolderFlight:
        """Return the flight with what its airframe's temperature display shows."""
        details = flight.details
        assert details.airframe is not None
        with self.store.reading() as session:
            air = details.air.on(find_airframe(session, details.airframe))
        return replace(flight, details=replace(details, air=air))

    def _known(self, flight: FolderFlight, sha256: str) -> FolderLine | None:
        with self.store.reading() as session:
            known = known_reduction(session, sha256, flight.path, Given(flight.details))
        if known is None:
            return None
        return FolderLine(
            file=flight.name,
            airframe=flight.details.airframe,
            outcome=KNOWN,
            sortie_id=known.sortie_id,
            warnings=known.warnings,
        )

    def _prepare(self, begun: _Begun) -> None:
        """Wait for the reading, ask the store, and hand in the solving."""
        if begun.work is None:
            return
        chosen = begun.work.result()
        if not isinstance(chosen, Trouble):
            chosen = explained(lambda: self._prepared(begun, chosen))
        if isinstance(chosen, Trouble):
            begun.line = _failed(begun.flight, chosen)
            return
        begun.prepared = chosen
        task = solving_task(begun.flight.name, chosen, begun.borrowed_mps)
        begun.work = hand_in(self.crew, begun.flight.name, task)

    def _prepared(self, begun: _Begun, chosen: Any) -> PreparedFlight:
        with self.store.reading() as session:
            begun.borrowed_mps = borrowed_scatter(session)
            return prepare_flight(session, chosen, begun.flight.details, self.settings)

    def _finish(self, begun: _Begun) -> FolderLine:
        """Wait for the solving and store it."""
        if begun.line is not None:
            return begun.line
        assert begun.work is not None
        solved = begun.work.result()
        if not isinstance(solved, Trouble):
            solved = explained(lambda: self._stored(begun, solved))
        return solved if isinstance(solved, FolderLine) else _failed(begun.flight, solved)

    def _stored(self, begun: _Begun, solved: SolvedFlight) -> FolderLine:
        prepared = begun.prepared
        assert prepared is not None
        known = self._known(begun.flight, prepared.flight.sha256)
        if known is not None:
            return known
        with self.store.reading() as session:
            borrowed = borrowed_scatter(session)
        if borrowed != begun.borrowed_mps and solved.lacks_scatter:
            # what was stored meanwhile changes how uncertain legs are that show no scatter
            solved = solve_prepared(prepared, borrowed)
        result = held_against_store(self.store, solved.result, prepared.flight.sha256)
        document = kept_document(prepared, borrowed, result)
        details, flight = prepared.details, prepared.flight
        try:
            with packed_if(details.keep_log, begun.flight.path, flight.sha256) as packed:
                kept = self.store.write(
                    lambda session: keep_reduction(
                        session, flight, result, details=details, document=document, packed=packed
                    ),
                    Touching(airframes=(details.airframe or "",)),
                )
        except RepeatedFlightError as error:
            return _repeated(begun.flight, error)
        return FolderLine(
            file=begun.flight.name,
            airframe=prepared.details.airframe,
            outcome=STORED,
            runs=len(kept.runs),
            not_accepted=sum(not run.accepted for run in kept.runs),
            sortie_id=kept.sortie_id,
            warnings=kept.warnings,
        )


def _repeated(flight: FolderFlight, error: RepeatedFlightError) -> FolderLine:
    return FolderLine(
        file=flight.name,
        airframe=flight.details.airframe,
        outcome=REPEATED,
        sortie_id=error.sortie_id,
        warnings=(f"passed over, as {error.message.removeprefix(f'{flight.path.name}: ')}",),
    )


def _failed(flight: FolderFlight, trouble: Trouble) -> FolderLine:
    return FolderLine(
        file=flight.name,
        airframe=flight.details.airframe,
        outcome=FAILED,
        error=trouble.message,
        hint=trouble.hint,
    )
