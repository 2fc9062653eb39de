"""Where the report of a flight goes, and in which units it is written."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from fleetcal.cli.flight_views import printed_units
from fleetcal.cli.shown_units import in_shown_units

if TYPE_CHECKING:
    from fleetcal.cli.reduce_options import ReduceOptions
    from fleetcal.services.flights.flight_file import FlightFile


def report_file(options: ReduceOptions) -> FlightFile | None:
    """Return where figure or report are to go; None where neither was asked for."""
    path = options["figure"]
    if path is None and options["opening"]:
        path = Path(tempfile.mkdtemp(prefix="fleetcal-")) / "report.html"
    if path is None:
        return None
    from fleetcal.services.flights.flight_file import FlightFile

    return FlightFile(path, printed_units(), in_shown_units)
