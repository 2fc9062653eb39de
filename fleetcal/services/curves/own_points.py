"""The points of one airframe, for its own curve: the correction of its reading."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fleetcal.fleet.own_curve import OwnPoints
from fleetcal.services.as_read import INDICATOR
from fleetcal.services.curves.pooled_point import PooledPoint, fleet_points, terms_of


def own_points(rows: Sequence[PooledPoint]) -> OwnPoints:
    """Return the points of one airframe with one set of equipment.

    The indicator's own error is part of what a pilot reads, so it counts as part of the curve;
    other errors that last, such as the thermometer's, do not.

    Raises:
        FitError: If a point is not finite or claims no uncertainty.
    """
    points = fleet_points(rows, [0] * len(rows), [0] * bool(rows))
    owned = (terms_of(rows, owner, INDICATOR) for owner in ("airframe", "fleet"))
    return OwnPoints(
        x=points.x,
        y=points.y,
        errors=points.error_covariance(np.arange(len(rows))),
        lasting=np.hstack([*owned]),
    )
