"""What a sortie to come will tell of a curve: as much as the sorties of the fleet usually did.

The points of a sortie share signed parts of their errors, which may draw two of them the same
way or apart. For a sortie not flown yet nobody knows which. So all its points are given one
common part, of the size that any two points of a sortie share on average; what is left of their
uncertainty is each point's own. Both follow one power of x found in the fleet's points: as kappa
they fall with speed where the airspeed itself is known to so many knots. Sizes are medians over
sorties. Taking all that is shared as common, whatever its signs, promised too little from
sorties whose runs were solved under one moving wind.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.points import Array, FleetPoints, Index


@dataclass(frozen=True)
class UsualSortie:
    """Standard uncertainties of a point, of its own and common to its sortie, at x = 1.

    Attributes:
        power: Of x, that both follow.
    """

    own: float
    shared: float
    power: float

    def at(self, x: Array, factor: float = 1.0) -> tuple[Array, Array]:
        """Return what is a point's own, and what is common, at each x; in y.

        Args:
            factor: On the variances of both.
        """
        size = np.sqrt(factor) * x**self.power
        return self.own * size, self.shared * size


def usual_sortie(points: FleetPoints, rows: Index) -> UsualSortie:
    """Return what the sorties of some points of a fleet usually leave uncertain.

    Args:
        rows (n,): Those points; one at least.
    """
    x, shared, sortie = points.x[rows], points.u_shared[rows], points.sortie[rows]
    total = points.u_own[rows] ** 2 + (shared**2).sum(axis=1)
    about, y = np.log(x) - np.log(x).mean(), np.log(total) / 2.0
    power = float(np.clip(about @ y / max(float(about @ about), 1e-12), 0.0, 1.0))
    shared = shared / x[:, None] ** power
    common, alone = list[float](), list[float]()
    for one in np.unique(sortie):
        mine = shared[sortie == one]
        squares, count = float((mine**2).sum()), len(mine)
        if count == 1:
            alone.append(squares)
        else:
            pairs = float((mine.sum(axis=0) ** 2).sum()) - squares
            common.append(pairs / (count * (count - 1)))
    # where no sortie has two points nothing tells what two would share: all of it
    variance = max(float(np.median(common or alone)), 0.0)
    rest = float(np.median(total / x ** (2.0 * power))) - variance
    return UsualSortie(float(np.sqrt(max(rest, 0.01 * variance))), float(np.sqrt(variance)), power)


def sortie_information(
    lift: Array, order: int, u_own: Array | float, u_shared: Array | float
) -> Array:
    """Return what the points of a sortie add to the inverse covariance of the curve.

    Args:
        lift (choices, n): Points of each of several sorties.
        u_own: Broadcastable to `lift`; infinite for a place without a point.
        u_shared: Broadcastable to `lift`: by how much each point goes with one unknown value of
            its sortie; applied by Woodbury's identity.

    Returns:
        Shape (choices, order + 1, order + 1).
    """
    x = curve_basis(lift.ravel(), order).reshape(*lift.shape, order + 1)
    weight = np.broadcast_to(np.asarray(u_own, dtype=np.float64) ** -2.0, lift.shape)
    shared = np.broadcast_to(np.asarray(u_shared, dtype=np.float64), lift.shape)
    weighted = weight[..., None] * x
    along = (shared[..., None] * weighted).sum(axis=1)
    lost = 1.0 / (1.0 + (shared**2 * weight).sum(axis=1))
    own = np.swapaxes(weighted, 1, 2) @ x
    return np.asarray(own - lost[:, None, None] * along[:, :, None] * along[:, None, :])
