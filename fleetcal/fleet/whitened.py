"""Columns over the points with all their correlation taken out."""

from __future__ import annotations

import numpy as np

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.pooled import PooledFit


def whiten(points: FleetPoints, fit: PooledFit, columns: Array) -> Array:
    """Return L^-1 times columns, where L L' is the covariance of an aircraft's points.

    Args:
        fit: For the spread between aircraft and the factor on the variances.
        columns: Shape (points, n).

    Returns:
        Shape (points, n): In the order of the points; products of columns of one aircraft are then
        weighted by the inverse of its covariance.
    """
    white = np.empty_like(columns)
    departs = curve_basis(points.x, len(fit.spread) - 1)
    for aircraft in range(len(points.group_of)):
        own = np.flatnonzero(points.aircraft == aircraft)
        noise = fit.phi * points.error_covariance(own)
        covariance = noise + departs[own] @ fit.spread @ departs[own].T
        white[own] = np.linalg.solve(np.linalg.cholesky(covariance), columns[own])
    return white
