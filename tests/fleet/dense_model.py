"""The fleet model written out with whole matrices: slow, plain, sharing nothing with the package.

y = X beta + Z b + e over all points at once, b ~ N(0, D) for each aircraft,
e ~ N(0, phi R), R = diag(u_own^2) plus one outer product a sortie and shared term.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.fleet.points import Array, FleetPoints


def error_covariance(points: FleetPoints) -> Array:
    """Return R."""
    covariance = np.diag(points.u_own**2)
    same = (points.sortie[:, None] == points.sortie) & (points.aircraft[:, None] == points.aircraft)
    for term in points.u_shared.T:
        covariance += np.where(same, np.outer(term, term), 0.0)
    return covariance


def curve_matrix(points: FleetPoints, order: int) -> Array:
    """Return X: the columns 1, t, t^2 of group 0, then of group 1 and so on."""
    t = points.lift - 0.25
    group = points.group_of[points.aircraft]
    groups = int(points.group_of.max()) + 1
    return np.column_stack(
        [np.where(group == g, t**power, 0.0) for g in range(groups) for power in range(order + 1)]
    )


def departure_covariance(points: FleetPoints, spread: Array) -> Array:
    """Return Z D Z'."""
    z = np.column_stack([(points.lift - 0.25) ** power for power in range(len(spread))])
    same = points.aircraft[:, None] == points.aircraft
    return np.where(same, z @ spread @ z.T, 0.0)


@dataclass(frozen=True)
class DenseFit:
    """Generalised least squares with a known V."""

    x: Array
    v: Array
    beta: Array
    covariance: Array
    deviance: float


def dense_fit(points: FleetPoints, order: int, spread: Array, phi: float) -> DenseFit:
    """Return the restricted-likelihood quantities at one D and phi."""
    x = curve_matrix(points, order)
    v = phi * error_covariance(points) + departure_covariance(points, spread)
    inverse = np.linalg.inv(v)
    covariance = np.linalg.inv(x.T @ inverse @ x)
    beta = covariance @ x.T @ inverse @ points.kappa
    residual = points.kappa - x @ beta
    deviance = (
        np.linalg.slogdet(v)[1] - np.linalg.slogdet(covariance)[1] + residual @ inverse @ residual
    )
    return DenseFit(x, v, beta, covariance, float(deviance))
