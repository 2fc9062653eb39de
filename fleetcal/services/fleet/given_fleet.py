"""A fleet as somebody gives it: a TOML file, or a spreadsheet saved as CSV."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from fleetcal.plain_file import opened
from fleetcal.services.fleet.fleet_file import read_fleet_file
from fleetcal.services.fleet.fleet_sheet import read_fleet_sheet
from fleetcal.services.fleet.sheet_description import SheetFleet, describe_sheet
from fleetcal.services.plain_table import Tell, silent
from fleetcal.store import FleetDescription

#: Makes the description, on top of what a store knows.
GivenFleet = Callable[[FleetDescription], SheetFleet]

_LOOKED_AT = 1 << 16


def read_fleet(path: Path, tell: Tell = silent) -> GivenFleet:
    """Read a fleet.

    Args:
        path: TOML by its ending or a table in it, else a spreadsheet saved as CSV.
        tell: Called with how a spreadsheet was read.

    Raises:
        DataError: If the file is wrong; the message names the place.
    """
    if _is_toml(path):
        description = read_fleet_file(path)
        return lambda known: SheetFleet(description, ())
    rows = read_fleet_sheet(path, tell)
    return lambda known: describe_sheet(rows, known)


def _is_toml(path: Path) -> bool:
    if path.suffix.lower() == ".toml":
        return True
    try:
        with opened(path) as file:
            start = file.read(_LOOKED_AT)
    except OSError:
        return True  # reading it as TOML states what is wrong with it
    return any(line.lstrip().startswith(b"[") for line in start.splitlines())
