"""The power at which a run was flown."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from fleetcal.records.column import column

ACTUAL: Final = "actual"
STANDARD_AIR: Final = "standard air"


@dataclass(frozen=True, kw_only=True)
class Power:
    """Power of a run, in % of rated power."""

    power_pct: float = field(metadata=column("%", "of rated power", above=0.0, highest=130.0))
    u_power_pct: float = field(metadata=column("%", "its standard uncertainty", above=0.0))
    basis: str = field(
        default=ACTUAL,
        metadata=column(
            "",
            "'standard air' for a chart's power, which the temperature of the day still changes",
            words=(ACTUAL, STANDARD_AIR),
        ),
    )
    origin: str = field(
        default="hand", metadata=column("", "who says so", words=("hand", "file", "log"))
    )
    note: str = field(
        default="", metadata=column("", "the heading of the log's column, or words", blank=True)
    )
    doubt: str = field(
        default="",
        metadata=column("", "why it is not to be used, if it is not", blank=True, since=3),
    )
