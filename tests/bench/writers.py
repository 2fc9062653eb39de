"""What it is worth that writers of different types write to a server at once.

``python -m tests.bench.writers`` starts a real server that waits for its disk, and writers that
are programs of their own, each with a type of its own. They store flights for some seconds, first
each with the whole store to itself, then saying what they touch, and so on in turn; medians of
each, and their ratio. Then one writer stores a large flight while another decides on a point of
another type: how long the latter takes in all, both ways. ``--writers 2``, ``--seconds 3`` and
``--repeats 5`` choose otherwise.
"""

from __future__ import annotations

import argparse
import os
import statistics
import time
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import replace
from datetime import date
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.services.points.decide_points import reject
from fleetcal.store import NewSortie, Store, Touching, add_sortie, add_source, open_store
from fleetcal.store.models import CalibrationPoint
from tests.postgres_server import make_database, serving
from tests.store.invented_rows import MOMENT, POINT
from tests.store.types_and_writers import fill_types, tag

#: Points of an ordinary flight, and of a large one.
_POINTS, _MANY = 20, 6000


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--writers", type=int, default=4)
    parser.add_argument("--seconds", type=float, default=5.0)
    parser.add_argument("--repeats", type=int, default=3)
    chosen = parser.parse_args()
    with (
        serving(fsync=True) as server,
        ProcessPoolExecutor(chosen.writers, get_context("spawn")) as programs,
    ):
        url = make_database(server, "measured")
        with open_store(url) as store:
            fill_types(store, chosen.writers)
        found: dict[bool, list[float]] = {False: [], True: []}
        waits: dict[bool, list[float]] = {False: [], True: []}
        _count(programs, url, chosen.writers, 1.0, sharing=True)  # everything is loaded
        for _ in range(chosen.repeats):
            for sharing in (False, True):
                count = _count(programs, url, chosen.writers, chosen.seconds, sharing=sharing)
                found[sharing].append(count / chosen.seconds)
        for _ in range(chosen.repeats):
            for sharing in (False, True):
                waits[sharing].append(_decided_meanwhile(programs, url, sharing=sharing))
    for words, lists, unit in (
        (f"{chosen.writers} writers on {chosen.writers} types", found, "flights a second"),
        ("a decision during a large flight of another type", waits, "s"),
    ):
        one, shared = (statistics.median(lists[sharing]) for sharing in (False, True))
        print(f"{words}: {one:.2f} {unit} with one lock, {shared:.2f} with a lock a type", end="")
        print(f" (x {shared / one:.2f})")
    print(f"load of the machine: {' '.join(f'{one:.1f}' for one in os.getloadavg())}, ", end="")
    print(f"{os.cpu_count()} processors")


def _count(programs: Executor, url: str, writers: int, seconds: float, *, sharing: bool) -> int:
    start = time.time() + 0.5
    jobs = [
        programs.submit(_write, url, number, start, start + seconds, sharing)
        for number in range(1, writers + 1)
    ]
    return sum(job.result() for job in jobs)


def _write(url: str, number: int, start: float, stop: float, sharing: bool) -> int:
    """Store flights until it is time, and return how many."""
    count = 0
    with open_store(url, create=False) as store:
        time.sleep(max(0.0, start - time.time()))
        while time.time() < stop:
            _fly(store, number, _POINTS, sharing)
            count += 1
    return count


def _fly(store: Store, number: int, points: int, sharing: bool, began: Path | None = None) -> int:
    file = os.urandom(32).hex()
    flight = NewSortie(
        airframe=tag(number), flown_on=date(2018, 1, 1), weight_kg=590.0, track_reference="true"
    )
    gave = [replace(POINT, number=n) for n in range(1, points + 1)]

    def work(session: Session) -> int:
        if began is not None:
            began.touch()
        source = add_source(session, file, "flight.csv", "points", now=MOMENT)
        return add_sortie(session, source, flight, [], gave, now=MOMENT).id

    return store.write(work, Touching(airframes=(tag(number),)) if sharing else None)


def _decided_meanwhile(programs: Executor, url: str, *, sharing: bool) -> float:
    """Return how long it takes to decide on a point while a large flight is being stored."""
    with open_store(url, create=False) as store:
        number = _fly(store, 2, 1, True)
        with store.reading() as session:
            (point,) = _points(session, number)
        with TemporaryDirectory() as folder:
            flag = Path(folder) / "began"
            large = programs.submit(_write_large, url, sharing, flag)
            while not flag.exists():
                time.sleep(0.001)
            began = time.monotonic()
            reject(store, [point], "measured")
            took = time.monotonic() - began
            large.result()
    return took


def _points(session: Session, sortie: int) -> Iterator[int]:
    yield from session.scalars(
        select(CalibrationPoint.id).where(CalibrationPoint.sortie_id == sortie)
    )


def _write_large(url: str, sharing: bool, began: Path) -> int:
    with open_store(url, create=False) as store:
        return _fly(store, 1, _MANY, sharing, began)


if __name__ == "__main__":
    main()
