"""The shape a group's curve may take, and what an aircraft may add to it.

What is pooled depends on angle of attack, so on lift coefficient: curves are
polynomials in t = x - 0.25, where x = (Vs/Viw)^2 or another number that goes with
lift and is 0.25 at twice the scaling speed, mid-range for a light aircraft. An
aircraft departs from its group by a level and a tilt.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.fleet.points import Array

HIGHEST_ORDER: Final = 2
#: Coefficients by which one aircraft departs from its group: level and tilt.
DEPARTURE: Final = 2
MIDDLE_X: Final = 0.25


def curve_basis(x: Array, order: int) -> Array:
    """Return the columns 1, t, t^2 up to an order.

    Args:
        x (points,): As in `FleetPoints`.
        order: 0, 1 or 2.

    Returns:
        Shape (points, order + 1).
    """
    t = np.asarray(x, dtype=np.float64) - MIDDLE_X
    return t[:, None] ** np.arange(order + 1)


def variance_along(rows: Array, covariance: Array) -> Array:
    """Return the variance of a curve whose coefficients have many covariances.

    Args:
        rows (n, p): Of the basis, where the curve is looked at.
        covariance: Shape (m, p, p).

    Returns:
        Shape (m, n).
    """
    squares = (rows[:, :, None] * rows[:, None, :]).reshape(len(rows), -1)
    return np.asarray(covariance.reshape(len(covariance), -1) @ squares.T)


def carried_along(rows: Array, covariance: Array) -> Array:
    """Return P C P' for many covariances C.

    Args:
        rows (n, p): P.
        covariance: Shape (m, p, p).

    Returns:
        Shape (m, n, n).
    """
    products = covariance.reshape(len(covariance), -1) @ np.kron(rows, rows).T
    return np.asarray(products.reshape(-1, len(rows), len(rows)))


def lift_from_airspeed(
    airspeed: Array, scaling_speed: float, weight: float | Array, reference_weight: float
) -> Array:
    """Return s = (Vs/Viw)^2 with Viw = Vic*sqrt(Wref/W).

    Args:
        airspeed (ndarray, any shape): Vic, in the unit of `scaling_speed`.
        scaling_speed: The type's fixed scaling speed Vs.
        weight, reference_weight: W and Wref, one unit.

    Returns:
        Same shape.
    """
    return np.asarray((scaling_speed / airspeed) ** 2 * (weight / reference_weight))
