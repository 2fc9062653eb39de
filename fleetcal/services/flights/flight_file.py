"""Where the figure or the report of one flight goes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from fleetcal.services.flights.speed_answers import KT_AND_FT, PrintedUnits


@dataclass(frozen=True)
class FlightFile:
    """Where a figure or a report is to go, and in which units it is written.

    Attributes:
        path: Its ending tells what it is: .svg and .png a figure, .html and .pdf a report.
        in_units: Turns the amounts of a sentence into the units.
    """

    path: Path
    units: PrintedUnits = KT_AND_FT
    in_units: Callable[[str], str] = str
