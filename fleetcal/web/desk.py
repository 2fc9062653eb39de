"""What served pages work on: one store, a private folder, and what was worked out already."""

from __future__ import annotations

import shutil
import tempfile
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import date
from pathlib import Path
from threading import RLock, Thread
from typing import Final

from fleetcal.services.chosen_store import Store
from fleetcal.services.keeping.store_history import state_of
from fleetcal.services.publishing.fleet_contents import FleetContents
from fleetcal.services.publishing.site_groups import SiteTables
from fleetcal.web.gate import Gate
from fleetcal.web.work import Works

_KEPT: Final = 4  # weights and altitudes whose pages are remembered


class Desk:
    """What the pages work on.

    Attributes:
        folder: For files that are dropped; only this user can look into it, and it goes with the
            program.
        end: Ends the program.
    """

    def __init__(self, store: Store, gate: Gate) -> None:
        self.store, self.gate = store, gate
        self.works = Works()
        self.folder = Path(tempfile.mkdtemp(prefix="fleetcal-"))
        self.end: Callable[[], None] = lambda: None
        self._lock = RLock()
        self._state: tuple[object, ...] = ()
        self._contents: dict[SiteTables, FleetContents] = {}

    @contextmanager
    def contents(self, tables: SiteTables | None = None) -> Iterator[FleetContents]:
        """Yield what the pages hold of the store as it is now; one request at a time.

        Args:
            tables: Weight and altitude of the tables.

        Raises:
            DataError: If one weight is given for several types, or a type cannot have it.
        """
        chosen = tables or SiteTables()
        with self._lock:
            state = (state_of(self.store), date.today())
            if state != self._state:
                self._contents.clear()
                self._state = state
            if chosen not in self._contents:
                while len(self._contents) >= _KEPT:
                    del self._contents[next(iter(self._contents))]
                self._contents[chosen] = FleetContents(
                    self.store, date.today(), with_days=True, with_registrations=True, tables=chosen
                )
            yield self._contents[chosen]

    def warm(self) -> None:
        """Work out in the background what the first page shows, before anybody looks."""
        Thread(target=self._overview, daemon=True).start()

    def _overview(self) -> None:
        with suppress(Exception), self.contents() as fleet:  # whoever looks is told what is wrong
            assert fleet.overview

    @staticmethod
    def note_unforeseen(error: BaseException) -> None:
        """Print where an error of the program itself came from, where the program was started."""
        traceback.print_exception(error)

    def close(self) -> None:
        """Stop what goes on, and remove the private folder."""
        try:
            self.works.stop_all(patience_s=10.0)
        finally:
            shutil.rmtree(self.folder, ignore_errors=True)
