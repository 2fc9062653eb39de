"""What an error common to all aircraft does to the curves.

No point shows it, since all have it alike, so it is no part of the fit; the fit
only passes it on. Put in the place of y, one standard uncertainty of it at
every point comes out as the shift of each curve's coefficients: the generalised
least-squares map is linear (JCGM 100:2008, 5.2.2, with correlated inputs).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fleetcal.fleet.likelihood import group_sums
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.pooled import PooledFit, spread_root
from fleetcal.fleet.sums import aircraft_sums


def common_shifts(points: FleetPoints, fit: PooledFit) -> Array:
    """Return the shift of each curve for each term that the fleet owns.

    Args:
        fit: Of `points`; the map is taken at its most likely spread.

    Returns:
        Shape (groups, terms, p).
    """
    root = spread_root(fit.spread)
    shifts = []
    for term in points.u_fleet.T:
        sums = aircraft_sums(replace(points, y=term)).with_order(fit.order)
        shifts.append(group_sums(sums, root, fit.phi, points.groups).beta)
    return np.stack(shifts, axis=1) if shifts else np.zeros((points.groups, 0, fit.order + 1))
