"""Flights that were dropped and are looked at, each with its files in a private folder."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from threading import RLock
from typing import Final

from flask import current_app

from fleetcal.errors import DataError, FleetcalError, UnknownNameError
from fleetcal.services.flights.open_flight import OpenFlight, open_flight
from fleetcal.services.flights.open_stored import LOG
from fleetcal.services.flights.picked_legs import PickedLeg
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.understand_log import understand_log
from fleetcal.web.flight_form import BLANK, fields_of
from fleetcal.web.shown import the_desk

_REMEMBERED: Final = 30
_EXTENSION: Final = "flights"


@dataclass(kw_only=True)
class DroppedFlight:
    """A flight at hand.

    Attributes:
        opened: None while its columns are not understood.
        trouble: Why they are not.
        fields: Of the form, as they were written last.
        picked: Legs as they were picked last; None as found.
        lock: Held while it is changed.
    """

    number: int
    path: Path
    opened: OpenFlight | None = None
    trouble: FleetcalError | None = None
    fields: dict[str, str] = field(default_factory=lambda: dict(BLANK))
    mapping: Path | None = None
    picked: tuple[PickedLeg, ...] | None = None
    lock: RLock = field(default_factory=RLock)

    @property
    def folder(self) -> Path:
        """Folder of its files; the log lies in one of its own there."""
        return self.path.parent.parent

    @property
    def at_hand(self) -> OpenFlight:
        """The flight as it was read.

        Raises:
            DataError: If its columns are not understood yet.
        """
        if self.opened is None:
            raise self.trouble or DataError(f"{self.path.name} is not read yet", "drop it again")
        return self.opened

    def take(self, opened: OpenFlight) -> None:
        """Take the flight as it is read now; legs that were picked stay if the same are found."""
        if self.opened is None or opened.found != self.opened.found:
            self.picked = None
        self.opened, self.trouble = opened, None


class DroppedFlights:
    """The flights of a desk, the last ones dropped."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._flights: dict[int, DroppedFlight] = {}
        self._numbers = count(1)
        self._lock = RLock()

    def new_folder(self, kind: str) -> tuple[int, Path]:
        """Make a folder for files, and return its number too."""
        number = next(self._numbers)
        folder = self.folder / f"{kind}-{number}"
        folder.mkdir(mode=0o700)
        return number, folder

    def add(self, save: Callable[[Path], Path]) -> DroppedFlight:
        """Read a file that was dropped; nothing stays of one that is no table at all.

        Args:
            save: Writes the file into a folder and returns where it is.

        Raises:
            DataError: If it is no table.
        """
        number, folder = self.new_folder("flight")
        try:
            (folder / LOG).mkdir()
            flight = DroppedFlight(number=number, path=save(folder / LOG))
            self._read(flight)
        except BaseException:
            shutil.rmtree(folder, ignore_errors=True)
            raise
        self._remember(flight)
        return flight

    def add_opened(
        self, open_in: Callable[[Path], tuple[OpenFlight, tuple[PickedLeg, ...]]]
    ) -> DroppedFlight:
        """Take in a flight that was stored before.

        Args:
            open_in: Opens it with files in a folder; with its legs as they were picked.

        Raises:
            DataError: If it cannot be opened.
        """
        number, folder = self.new_folder("flight")
        try:
            opened, picked = open_in(folder)
        except BaseException:
            shutil.rmtree(folder, ignore_errors=True)
            raise
        flight = DroppedFlight(
            number=number,
            path=opened.path,
            opened=opened,
            fields=fields_of(opened.details),
            mapping=opened.details.mapping,
            picked=picked,
        )
        self._remember(flight)
        return flight

    def _remember(self, flight: DroppedFlight) -> None:
        with self._lock:
            self._flights[flight.number] = flight
            for old in list(self._flights)[:-_REMEMBERED]:
                self.forget(old)

    @staticmethod
    def _read(flight: DroppedFlight) -> None:
        details = FlightDetails(airframe=None)
        try:
            flight.opened = open_flight(flight.path, details, ReductionSettings())
        except FleetcalError as error:
            if understand_log(flight.path).columns:
                flight.trouble = error
            else:
                raise

    def find(self, number: int) -> DroppedFlight:
        """Return a flight by its number.

        Raises:
            UnknownNameError: If there is none.
        """
        with self._lock:
            if number not in self._flights:
                raise UnknownNameError(
                    f"there is no flight {number} to look at", "drop its log again"
                )
            return self._flights[number]

    def forget(self, number: int) -> None:
        """Forget a flight and its files."""
        with self._lock:
            flight = self._flights.pop(number, None)
        if flight is not None:
            shutil.rmtree(flight.folder, ignore_errors=True)


def the_flights() -> DroppedFlights:
    """Return the flights of the desk whose page is served."""
    desk = the_desk()
    found = current_app.extensions.setdefault(_EXTENSION, DroppedFlights(desk.folder))
    assert isinstance(found, DroppedFlights)
    return found
