"""What a test flight to come will leave uncertain: as those did that the store has, or supposed.

Of a store without test flights of the type the figures are those of simulated ones
(`python -m tests.airdata.simulations.usual_test_flight`: 80 flights of four boxes of legs on
ordinary days; 0.39 kt a point, next to nothing in common, and 0.0040 of kappa, 0.2 kt at 100 kt,
of errors that last, most of them the thermometer's).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.fleet.points import Index
from fleetcal.fleet.usual_sortie import UsualSortie, usual_sortie
from fleetcal.records import GPS_LEGS, ORDINARY_FLIGHT
from fleetcal.services.curves.own_points import own_points
from fleetcal.services.curves.pooled_point import PooledPoint, fleet_points
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.store import StoredPoint

SUPPOSED: Final = UsualSortie(
    own=0.0178, common=0.0, tilted=0.0, middle=-1.405, step=0.5, power=0.518
)
_LASTING: Final = np.array([0.0040])


def usual_of_legs(known: TypePoints) -> UsualSortie:
    """Return what a point of a test sortie usually leaves uncertain in a fleet.

    By the points that were flown by legs; where none were, by all but those of ordinary flights.
    """
    rows = _of_test_flights(known.rows)
    return usual_sortie(known.points, rows if len(rows) else np.arange(len(known.rows)))


def usual_of_airframe(
    own: Sequence[PooledPoint], every: Sequence[PooledPoint]
) -> tuple[UsualSortie, Array]:
    """Return what a point of its next sortie will leave uncertain, and what of that lasts.

    Args:
        own: Points of the airframe.
        every: Of its type.

    Returns:
        By its own test flights, or those of its type, or as supposed; errors that last by its own
        points, whatever made them.
    """
    for rows in (own, every):
        mine = [rows[i] for i in _of_test_flights(rows)]
        if mine:
            points = fleet_points(mine, [0] * len(mine), [0])
            usual = usual_sortie(points, np.arange(len(mine)))
            break
    else:
        usual = SUPPOSED
    if own:
        return usual, own_points(own).lasting.mean(axis=0)
    if every:
        size = np.sum(own_points(every).lasting ** 2, axis=1)
        return usual, np.array([float(np.sqrt(np.mean(size)))])
    return usual, _LASTING


def rows_by(rows: Sequence[PooledPoint], technique: str) -> Index:
    """Return the places of the points that were measured by a technique."""
    mine = [isinstance(r.stored, StoredPoint) and r.stored.technique == technique for r in rows]
    return np.flatnonzero(mine)


def _of_test_flights(rows: Sequence[PooledPoint]) -> Index:
    legs = rows_by(rows, GPS_LEGS)
    others = np.setdiff1d(np.arange(len(rows)), rows_by(rows, ORDINARY_FLIGHT))
    return legs if len(legs) else others
