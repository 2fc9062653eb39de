"""Imports points and stops halfway, for a test to kill it: python import_worker.py PLACE FILE."""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import Any

from fleetcal.services.points import exchange_points
from fleetcal.store import open_store

ENOUGH_SORTIES = 350


def main(place: str, file: str) -> None:
    """Import until many sorties are written, say so, and never come to an end."""
    whole, added = exchange_points.add_sortie, 0

    def slow_add(*arguments: Any) -> Any:
        nonlocal added
        added += 1
        if added > ENOUGH_SORTIES:
            print("in the middle", flush=True)
            time.sleep(600)
        return whole(*arguments)

    exchange_points.add_sortie = slow_add  # type: ignore[assignment]
    with open_store(place, create=False) as store:
        exchange_points.import_points(store, Path(file))


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
