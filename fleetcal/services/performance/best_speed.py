"""A best speed of climb or glide."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class BestSpeed:
    """One best speed with its 95 % interval; empty with the reason in `note`.

    `rate_...` is the rate at that speed, `ratio...` in a glide distance over
    height, each with the 95 % band of the group's mean curve there. `ias_kt` is
    given where the group has one port.
    """

    speed: str
    cas_kt: float | None = None
    low_kt: float | None = None
    high_kt: float | None = None
    ias_kt: float | None = None
    rate_ftmin: float | None = None
    rate_low_ftmin: float | None = None
    rate_high_ftmin: float | None = None
    ratio: float | None = None
    ratio_low: float | None = None
    ratio_high: float | None = None
    note: str = ""
