"""The power at which a run was flown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

from fleetcal.records.column import column

#: Of the air of the day, or of a chart: the temperature of the day still changes that.
ACTUAL: Final = "actual"
STANDARD_AIR: Final = "standard air"


@dataclass(frozen=True, kw_only=True)
class Power:
    """Power of a run, in % of rated power."""

    power_pct: Annotated[float, column("power", above=0, highest=130, believed=(5, 130))]
    u_power_pct: Annotated[float, column("its uncertainty", above=0, believed=(0.1, 30))]
    basis: Annotated[str, column("of which air", words=(ACTUAL, STANDARD_AIR))] = ACTUAL
    origin: Annotated[str, column("who says so", words=("hand", "file", "log"))] = "hand"
    note: Annotated[str, column("the heading of the log's column, or words", blank=True)] = ""
    doubt: Annotated[str, column("why it is not used, if it is not", blank=True, since=3)] = ""
