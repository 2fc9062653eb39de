"""The shape a group's curve may take, and what an aircraft may add to it.

kappa of an attached flow depends on angle of attack, so on lift coefficient;
curves are polynomials in t = s - 0.25 with s = (Vs/Viw)^2 (s = 0.25 is twice
the scaling speed, mid-range for a light aircraft). An aircraft departs from
its group by a level and a tilt.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.fleet.points import Array

HIGHEST_ORDER: Final = 2
#: Coefficients by which one aircraft departs from its group: level and tilt.
DEPARTURE: Final = 2
MIDDLE_LIFT: Final = 0.25


def curve_basis(lift: Array, order: int) -> Array:
    """Return the columns 1, t, t^2 up to an order.

    Args:
        lift (points,): s = (Vs/Viw)^2.
        order: 0, 1 or 2.

    Returns:
        Shape (points, order + 1).
    """
    t = np.asarray(lift, dtype=np.float64) - MIDDLE_LIFT
    return t[:, None] ** np.arange(order + 1)


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
