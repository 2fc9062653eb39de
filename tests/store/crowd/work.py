"""What the writers do: import a flight, decide on it, merge what somebody shares."""

from __future__ import annotations

import json
import re
import shutil
import time
import traceback
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO

import numpy as np
from sqlalchemy import Connection, Engine, event, text

from fleetcal.errors import FleetcalError
from fleetcal.services.chosen_store import acting_as
from fleetcal.services.points.decide_points import accept, reject
from fleetcal.services.points.exchange_points import import_points
from fleetcal.services.sharing.merge_share import Choices, merge
from fleetcal.services.sharing.share_store import ShareChoice, share
from fleetcal.store import Store, open_store
from fleetcal.store.engines import sqlite

#: Points of a flight, which its file's name tells; each has a term of its own and a shared one.
POINTS = (3, 5, 9)
TERMS = 2
KINDS = ("import", "decide", "merge")
_LOCKS = re.compile("LOCK TABLE|FOR UPDATE|FOR SHARE")
_HEADING = "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa,u_shared_kappa"


@dataclass(frozen=True, kw_only=True)
class Line:
    """What one attempt came to; the label stands in the store's history.

    Attributes:
        accepted: What was decided.
        wait_s, took_s: For the write lock; in all.
        error: Empty for an acknowledged write.
        explained: Whether the error says what to do.
    """

    label: str
    kind: str
    file: str
    accepted: bool | None = None
    wait_s: float = 0.0
    took_s: float = 0.0
    error: str = ""
    explained: bool = True


class LockWatch:
    """Measures how long a process waits for the write lock."""

    def __init__(self) -> None:
        self.last_s = 0.0
        self._asked = 0.0
        event.listen(Engine, "before_cursor_execute", self._before)
        event.listen(Engine, "after_cursor_execute", self._after)
        ask = sqlite.begin_writing  # type: ignore[attr-defined]

        def begin_writing(engine_connection: Connection, patience_s: float) -> None:
            began = time.monotonic()
            try:
                ask(engine_connection, patience_s)
            finally:
                self.last_s = time.monotonic() - began

        sqlite.begin_writing = begin_writing  # type: ignore[attr-defined, assignment]

    def _before(self, _c: object, _k: object, statement: str, *_: object) -> None:
        if _LOCKS.search(statement):
            self._asked = time.monotonic()

    def _after(self, _c: object, _k: object, statement: str, *_: object) -> None:
        if _LOCKS.search(statement):
            self.last_s += time.monotonic() - self._asked


class Writer:
    """One program that writes until its time is over.

    Args:
        folder: Of its own.
        donor: A store that knows the fleet and no flight.
        number: From 1; it flies the airframe of that number.
    """

    def __init__(self, place: str, folder: Path, donor: Path, number: int) -> None:
        self._place = place
        self._folder = folder
        self._donor = donor
        self._number = number
        self._rng = np.random.default_rng(number)
        self._flights: list[str] = []
        self._done = 0

    def work_until(self, deadline: float, log: IO[str]) -> None:
        """Write, and note each attempt when its outcome is known."""
        watch = LockWatch()
        while time.monotonic() < deadline:
            kind = str(self._rng.choice(KINDS)) if self._flights else "import"
            watch.last_s = 0.0
            line = self._attempt(kind)
            waited = {**asdict(line), "wait_s": watch.last_s}
            log.write(json.dumps(waited) + "\n")
            log.flush()

    def _attempt(self, kind: str) -> Line:
        self._done += 1
        label = f"{kind} {self._number}-{self._done}"
        points = int(self._rng.choice(POINTS))
        file = f"w{self._number}-{self._done}-p{points}.csv"
        accepted = None
        if kind == "decide":
            file = str(self._rng.choice(self._flights))
            accepted = bool(self._rng.random() < 0.5)
        began = time.monotonic()
        error, explained = "", True
        try:
            self._do(kind, label, file, points, accepted)
        except FleetcalError as problem:
            error = f"{type(problem).__name__}: {problem.message}"
            explained = bool(problem.hint)
        except Exception:
            error, explained = traceback.format_exc(), False
        took = time.monotonic() - began
        if not error and kind != "decide":
            self._flights.append(file)
        return Line(
            label=label,
            kind=kind,
            file=file,
            accepted=accepted,
            wait_s=0.0,
            took_s=took,
            error=error,
            explained=explained,
        )

    def _do(self, kind: str, label: str, file: str, points: int, accepted: bool | None) -> None:
        acting_as(label)
        if kind == "decide":
            with open_store(self._place, create=False) as store:
                self._decide(store, label, file, accepted)
            return
        path = self._folder / file
        path.write_text(self._flight(points), encoding="utf-8")
        if kind == "import":
            with open_store(self._place, create=False) as store:
                import_points(store, path)
        else:
            self._merge(path)
        path.unlink()

    def _merge(self, path: Path) -> None:
        """Let a store of its own import the flight and share it, and merge that."""
        donor = Path(shutil.copy(self._donor, self._folder / "donor.sqlite3"))
        with open_store(donor, create=False) as store:
            import_points(store, path)
            told = share(
                store, self._folder / "share.json", ShareChoice(airframes=[f"C-{self._number:02d}"])
            )
        merged = merge(
            lambda: open_store(self._place, create=False), Path(told.file), Choices(None, {})
        )
        assert merged.stored, merged
        assert merged.added == 2, merged  # the file and its flight

    def _decide(self, store: Store, label: str, file: str, accepted: bool | None) -> None:
        """Decide alike on all points of a flight."""
        query = text(
            "SELECT p.id FROM calibration_point p JOIN sortie s ON s.id = p.sortie_id"
            " JOIN source_file f ON f.id = s.source_file_id WHERE f.name = :name"
        )
        with store.reading() as session:
            ids = list(session.scalars(query, {"name": file}))
        if accepted:
            accept(store, ids)
        else:
            reject(store, ids, label)

    def _flight(self, points: int) -> str:
        day = np.datetime64("2016-01-01") + np.timedelta64(self._done, "D")
        lines = [
            f"C-{self._number:02d},{day},600,{60 + 5 * i},3000,"
            f"{self._rng.normal(0.0, 0.02):.9f},0.006,0.004"
            for i in range(points)
        ]
        return "\n".join([_HEADING, *lines]) + "\n"
