"""Columns over the points with all their correlation taken out."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy import linalg

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.points import Array, FleetPoints, Index
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
    for own in points.rows_by_aircraft():
        white[own] = _whitened(points, fit, own, columns[own])
    return white


def weighted_products(
    points: FleetPoints, fit: PooledFit, columns: Callable[[Index], Array]
) -> Array:
    """Return the products of columns, weighted by the inverse covariance and summed over groups.

    Args:
        fit: As in `whiten`.
        columns: Gives those of some points, shape (points, n), an aircraft at a time: all together
            could fill the memory.

    Returns:
        Shape (groups, n, n).
    """
    products = None
    for aircraft, own in enumerate(points.rows_by_aircraft()):
        white = _whitened(points, fit, own, columns(own))
        if products is None:
            products = np.zeros((points.groups, white.shape[1], white.shape[1]))
        products[points.group_of[aircraft]] += white.T @ white
    return np.zeros((0, 0, 0)) if products is None else products


def _whitened(points: FleetPoints, fit: PooledFit, own: Index, columns: Array) -> Array:
    """Return L^-1 times the columns of one aircraft."""
    departs = curve_basis(points.x[own], len(fit.spread) - 1)
    noise = fit.phi * points.error_covariance(own)
    root = np.linalg.cholesky(noise + departs @ fit.spread @ departs.T)
    return np.asarray(linalg.solve_triangular(root, columns, lower=True, check_finite=False))
