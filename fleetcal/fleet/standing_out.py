"""The one point that keeps the others of its type from a fit, by its number."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.points import FleetPoints

#: How many times farther off than the next one a point must stand to be named: where all points
#: are too sure of themselves, the farthest of them is no worse than the others.
_TIMES: Final = 3.0
_FEWEST: Final = 3


def standing_out(points: FleetPoints) -> int | None:
    """Return the number of a point that stands alone far from its aircraft's others, if one does.

    Args:
        points: With their numbers.
    """
    if len(points.number) != len(points.x):
        return None
    off = np.zeros(len(points.x))
    for rows in points.rows_by_aircraft():
        if len(rows) >= _FEWEST:
            away = points.y[rows] - np.median(points.y[rows])
            off[rows] = np.abs(away) / points.u_own[rows]
    if len(off) < 2:
        return None
    next_one, first = np.argsort(off)[-2:]
    alone = off[first] > _TIMES * max(float(off[next_one]), 1.0)
    return int(points.number[first]) if alone else None


@contextmanager
def naming_the_worst(points: FleetPoints) -> Iterator[None]:
    """Let a refusal of a fit name the point that stands out, if one does."""
    try:
        yield
    except FitError as error:
        number = standing_out(points)
        if number is None:
            raise
        raise FitError(
            f"{error.message}; point {number} stands farthest off, alone",
            f"look at point {number} first: reject it, or correct it; then the others answer",
        ) from error
