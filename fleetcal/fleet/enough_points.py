"""Whether there are aircraft enough for a pooled curve, and how bent a one the speeds carry."""

from __future__ import annotations

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.basis import HIGHEST_ORDER
from fleetcal.fleet.fewest import FEWEST_AIRCRAFT
from fleetcal.fleet.points import FleetPoints


def require_enough_aircraft(points: FleetPoints) -> None:
    """Refuse groups that are too small for a band.

    Raises:
        FitError: If a group has fewer than three aircraft.
    """
    fewest = int(np.bincount(points.group_of).min()) if len(points.group_of) else 0
    if fewest < FEWEST_AIRCRAFT:
        raise FitError(
            f"only {fewest} aircraft in the group; a pooled curve needs {FEWEST_AIRCRAFT}",
            "reduce flights of more airframes, or pool over all pairings of the static source",
        )


def supported_order(points: FleetPoints) -> int:
    """Return the highest curve order that the speeds flown can carry.

    Returns:
        One less than the number of distinct speeds (s differing by a tenth of its range) that every
        group was flown at, at most 2.
    """
    owner = points.group_of[points.aircraft]
    distinct = HIGHEST_ORDER + 1
    for group in range(points.groups):
        x = np.sort(points.x[owner == group])
        apart = max(0.1 * float(x[-1] - x[0]), 0.01)
        steps = 1 + int(np.sum(np.diff(np.round((x - x[0]) / apart)) > 0))
        distinct = min(distinct, steps)
    return max(distinct - 1, 0)
