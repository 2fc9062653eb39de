"""Any file that holds a table, by the format that its first lines tell."""

from __future__ import annotations

import os
from pathlib import Path

from fleetcal.flightlog.icartt import is_icartt, read_icartt
from fleetcal.flightlog.mapping import LogMapping
from fleetcal.flightlog.raw_table import RawTable, read_table


def any_table(path: str | os.PathLike[str], mapping: LogMapping | None = None) -> RawTable:
    """Read a delimited text or an ICARTT file as a table.

    Args:
        path: Path-like.
        mapping: One that names columns by number lets a file without headings pass.

    Raises:
        DataError: As `read_table` and `read_icartt`.
    """
    place = Path(path)
    if is_icartt(place):
        return read_icartt(place)
    return read_table(place, headings_needed=not (mapping and mapping.names_by_number))
