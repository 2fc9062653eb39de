"""Large errors of a measured file: what contradicts them, and the doubt about the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

from fleetcal.records import Point
from fleetcal.services.known_port import KnownPort
from fleetcal.services.large_error import doubts, is_large, scaled_alike

Line = TypeVar("Line", bound=Point)


def doubted_points(
    points: Sequence[Line], known: KnownPort | None
) -> tuple[tuple[Line, ...], tuple[str, ...]]:
    """Take back the acceptance of points that something contradicts.

    Args:
        points: Of one file.
        known: What the store knows of the port; None without a store.

    Returns:
        The points, and a doubt about those that are off by much.
    """
    alike = scaled_alike(points)
    found, borne_out = [], set()
    for point in points:
        reason = alike
        if known is not None and known.bears_out(point):
            borne_out.add(point.number)
        elif known is not None and is_large(point):
            reason = alike or known.contradiction(point)
        if reason:
            point = replace(point, accepted=False, reason=point.reason or reason)
        found.append(point)
    return tuple(found), doubts(found, "point", borne_out)
