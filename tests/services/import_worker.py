"""Imports points and stops halfway, for a test to kill it: python import_worker.py PLACE FILE."""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import Any

from fleetcal.services import plain_blocks
from fleetcal.services.points import exchange_points
from fleetcal.services.points.add_points import PointsAdding
from fleetcal.store import open_store

ENOUGH_SORTIES = 350


class SlowAdding(PointsAdding):
    """Adds until many sorties are written, says so, and never comes to an end."""

    def add(self, block: Any) -> None:
        """Add a block, or stop."""
        if self.sorties >= ENOUGH_SORTIES:
            print("in the middle", flush=True)
            time.sleep(600)
        super().add(block)


def main(place: str, file: str) -> None:
    """Import block by small block."""
    plain_blocks._ROWS_AT_ONCE = 50  # type: ignore[misc]
    exchange_points.PointsAdding = SlowAdding  # type: ignore[attr-defined]
    with open_store(place, create=False) as store:
        exchange_points.import_points(store, Path(file))


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
