"""What a sortie to come will tell of a curve: as much as the sorties of the fleet usually did.

The points of a sortie share signed parts of their errors, which draw two of them the same way or
apart. For a sortie not flown yet nobody knows which. What the sorties of the fleet have usually
had is a common part, and one that goes with speed: runs go from fast to slow, so that a wind that
drifts looks like a tilt of the curve. Both are found from the products of what any two points of
a sortie share, as parts of the variance of a point; what is left is each point's own. All follow
one power of x found in the fleet's points: as kappa they fall with speed where the airspeed itself
is known to so many knots. Taking all that is shared as common, whatever its signs, promised too
little of sorties whose runs were solved under one moving wind.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.points import Array, FleetPoints, Index

#: Parts of the variance of a point that its sortie may own; the rest is certainly the point's.
_MOST_SHARED: Final = 0.98
_FEWEST_FOR_TILT: Final = 3


@dataclass(frozen=True, kw_only=True)
class UsualSortie:
    """Standard uncertainties of a point at x = 1, where `steps` is 0 and 1.

    Attributes:
        own: Of the point alone.
        common: Of one unknown value for all points of a sortie.
        tilted: Of another, that goes with the steps.
        middle, step: Steps are (log x - middle) / step.
        power: Of x, that all follow.
    """

    own: float
    common: float
    tilted: float
    middle: float
    step: float
    power: float

    def at(self, x: Array, factor: float = 1.0) -> tuple[Array, Array]:
        """Return what is a point's own, and what its sortie shares, in y.

        Args:
            x: Shape (n,).
            factor: On the variances of both.

        Returns:
            Shape (n,) and (n, 2).
        """
        size = np.sqrt(factor) * x**self.power
        steps = (np.log(x) - self.middle) / self.step
        tilted = self.tilted * size * steps
        return self.own * size, np.column_stack([self.common * size, tilted])


def usual_sortie(points: FleetPoints, rows: Index) -> UsualSortie:
    """Return what the sorties of some points of a fleet usually leave uncertain.

    Args:
        rows (n,): Those points; one at least.
    """
    logs, shared, sortie = np.log(points.x[rows]), points.u_shared[rows], points.sortie[rows]
    total = points.u_own[rows] ** 2 + (shared**2).sum(axis=1)
    middle, step = float(logs.mean()), max(float(logs.std()), 1e-6)
    steps, y = (logs - middle) / step, np.log(total) / 2.0
    power = float(np.clip(steps @ y / max(float(steps @ steps), 1e-12) / step, 0.0, 1.0))
    scaled = np.exp(-power * logs)
    shared, total = shared * scaled[:, None], total * scaled**2
    common, tilted = _shared_parts(shared, total, sortie, steps)
    variance = float(np.median(total))
    own = 1.0 - common - tilted * float(np.mean(steps**2))
    return UsualSortie(
        own=float(np.sqrt(max(own, 1.0 - _MOST_SHARED) * variance)),
        common=float(np.sqrt(common * variance)),
        tilted=float(np.sqrt(tilted * variance)),
        middle=middle,
        step=step,
        power=power,
    )


def _shared_parts(shared: Array, total: Array, sortie: Index, steps: Array) -> tuple[float, float]:
    """Return which parts of a point's variance are common to its sortie, and go with the steps."""
    common, tilted = list[float](), [0.0]
    for one in np.unique(sortie):
        mine = np.flatnonzero(sortie == one)
        first, second = np.triu_indices(len(mine), 1)
        part = (shared[mine] @ shared[mine].T / total[mine].mean())[first, second]
        tilt = (np.outer(steps[mine], steps[mine]))[first, second]
        if len(mine) >= _FEWEST_FOR_TILT and np.ptp(tilt) > 0.0:
            found = np.linalg.lstsq(np.column_stack([np.ones(len(tilt)), tilt]), part)[0]
            common.append(float(found[0]))
            tilted.append(float(found[1]))
        elif len(part):
            common.append(float(part.mean()))
    if not common:  # nothing tells what two points would share: all of it
        common = list((shared**2).sum(axis=1) / total)
    alike, apart = (max(float(np.median(parts)), 0.0) for parts in (common, tilted))
    return min(alike, _MOST_SHARED), apart


def sortie_information(
    lift: Array, order: int, u_own: Array | float, u_shared: Array | float
) -> Array:
    """Return what the points of a sortie add to the inverse covariance of the curve.

    Args:
        lift (choices, n): Points of each of several sorties.
        u_own: Broadcastable to `lift`; infinite for a place without a point.
        u_shared: One number, or broadcastable to (choices, n, terms): by how much each point goes
            with the unknown values of its sortie; by Woodbury's identity.

    Returns:
        Shape (choices, order + 1, order + 1).
    """
    basis = curve_basis(lift.ravel(), order).reshape(*lift.shape, order + 1)
    return information_of(basis, u_own, u_shared)


def information_of(basis: Array, u_own: Array | float, u_shared: Array | float) -> Array:
    """Return what the points of a sortie add to the inverse covariance of what a basis is of.

    Args:
        basis (choices, n, p): Of the points of each of several sorties.
        u_own, u_shared: As of `sortie_information`.

    Returns:
        Shape (choices, p, p).
    """
    shape = basis.shape[:-1]
    weight = np.broadcast_to(np.asarray(u_own, dtype=np.float64) ** -2.0, shape)
    shared = np.asarray(u_shared, dtype=np.float64)
    shared = np.broadcast_to(shared, (*shape, shared.shape[-1] if shared.ndim else 1))
    weighted = np.swapaxes(weight[..., None] * basis, 1, 2)
    along = weighted @ shared
    inner = np.swapaxes(weight[..., None] * shared, 1, 2) @ shared + np.eye(shared.shape[-1])
    lost = along @ np.linalg.solve(inner, np.swapaxes(along, 1, 2))
    return np.asarray(weighted @ basis - lost)
