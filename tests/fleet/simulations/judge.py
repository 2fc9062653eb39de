"""A judge who knows what nobody can know: the true mean curve and the true spread.

It sees the same points and holds the same family-wise level, by Holm's
method, and is the yardstick for the power of the judgement without that
knowledge.
"""

from __future__ import annotations

import numpy as np
from scipy import stats

from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.standing import holm
from fleetcal.fleet.sums import aircraft_sums

from .invented_fleet import Plan


def knowing_verdicts(points: FleetPoints, plan: Plan) -> Array:
    """Return the adjusted p-values of the judge who knows."""
    p_values = []
    for products in aircraft_sums(points).products:
        own = np.linalg.inv(products[:2, :2])
        departure = own @ (products[:2, 3] - products[:2, :3] @ plan.curve)
        t_squared = departure @ np.linalg.solve(own + plan.spread, departure)
        p_values.append(float(stats.chi2.sf(t_squared, 2)))
    return holm(p_values)


def exact_verdicts(points: FleetPoints) -> Array:
    """Return the adjusted p-values of the exact test for one group of aircraft flown alike.

    Each aircraft's own level and tilt against mean and scatter of the others',
    Hotelling's T squared of a single observation: nothing is approximated,
    nothing is known beforehand.
    """
    own = np.array([np.linalg.solve(p[:2, :2], p[:2, 3]) for p in aircraft_sums(points).products])
    p_values = []
    for a in range(len(own)):
        rest = np.delete(own, a, axis=0)
        departure = own[a] - rest.mean(axis=0)
        scatter = np.cov(rest.T)
        t_squared = departure @ np.linalg.solve(scatter, departure) / (1.0 + 1.0 / len(rest))
        spare = len(rest) - 2
        p_values.append(float(stats.f.sf(t_squared * spare / (2.0 * (spare + 1)), 2, spare)))
    return holm(p_values)
