"""The power at which runs were flown, as plain values."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.records import Power
from fleetcal.store.point_rows import StoredPoint


@dataclass(frozen=True, kw_only=True)
class PowerNote(Power):
    """The power at which the run of a point was flown."""

    point_id: int


@dataclass(frozen=True)
class CruiseRow:
    """A calibration point and the power that its run was flown at."""

    point: StoredPoint
    power: PowerNote
