"""What other processes do to a store while the tests look on: python store_worker.py DEED PLACE."""

from __future__ import annotations

import sys
import time

from sqlalchemy import select

from fleetcal.store import find_airframe, open_store
from fleetcal.store.models import AircraftType
from tests.store.invented_rows import fly, points

ROUNDS = 15


def count_up(place: str) -> None:
    """Read a number, think, and write it back one higher."""
    with open_store(place, patience_s=60.0) as store:
        for _ in range(ROUNDS):
            with store.writing() as session:
                row = session.scalars(select(AircraftType)).one()
                number = int(row.note)
                time.sleep(0.002)
                row.note = str(number + 1)


def begin_store(place: str) -> None:
    """Open a store that is perhaps not there yet."""
    open_store(place).close()


def import_for_ever(place: str) -> None:
    """Put in more than the cache holds, say so, and never come to an end."""
    with open_store(place) as store, store.writing() as session:
        find_airframe(session, "C-01").note = "changed by the import"
        fly(session, gave=points(8000))
        print("in the middle", flush=True)
        time.sleep(600)


if __name__ == "__main__":
    deeds = {"count_up": count_up, "begin_store": begin_store, "import": import_for_ever}
    deeds[sys.argv[1]](sys.argv[2])
