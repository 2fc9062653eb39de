"""How often the aircraft of a group flew each indicated airspeed, as it was read.

A curve is for one weight, and its points are moved there; what an indicator showed, at the
weight of the day, says where the group has really been.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fleetcal.publish.pooled_table import PlottedPoint, PooledTable

_STEP = 10.0


@dataclass(frozen=True, kw_only=True)
class FlownSpeeds:
    """Indicated airspeeds from `low` to below `high`, in the unit of the table."""

    low: float
    high: float
    points: int
    airframes: int
    lightest_kg: float | None
    heaviest_kg: float | None


def flown_speeds(table: PooledTable) -> list[FlownSpeeds]:
    """Return a line for each ten of the table's unit, also where nothing was flown between.

    Args:
        table: Its points; those of older versions do not say what was read, and are left out.
    """
    read: dict[int, list[PlottedPoint]] = {}
    for point in table.points:
        if point.read_kt is not None and point.read_at_kg is not None:
            place = math.floor(table.form.printed(point.read_kt) / _STEP)
            read.setdefault(place, []).append(point)
    if not read:
        return []
    return [_line(place, read.get(place, [])) for place in range(min(read), max(read) + 1)]


def _line(place: int, points: list[PlottedPoint]) -> FlownSpeeds:
    weights = [point.read_at_kg or 0.0 for point in points]
    return FlownSpeeds(
        low=place * _STEP,
        high=(place + 1) * _STEP,
        points=len(points),
        airframes=len({point.airframe for point in points}),
        lightest_kg=min(weights, default=None),
        heaviest_kg=max(weights, default=None),
    )
