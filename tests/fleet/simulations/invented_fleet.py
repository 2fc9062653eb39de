"""Invented fleets whose truth is known.

Errors are thought of in knots at 100 kt and turned into kappa by the
low-speed rule dV/V = kappa/2, so 1 kt at 100 kt is kappa = 0.02. The scaling
speed is 50 kt, so 100 kt is s = 0.25, where the tilt of an aircraft is zero.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from fleetcal.fleet.basis import MIDDLE_X, curve_basis
from fleetcal.fleet.points import Array, FleetPoints, Index

from .true_shapes import shape_kt

SCALING_SPEED_KT = 50.0
KAPPA_PER_KT = 0.02
SPEEDS_KT = np.array([70.0, 80.0, 95.0, 115.0, 140.0])


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What an invented fleet is drawn from.

    Attributes:
        aircraft: In each group.
        spread_kt: Standard deviation of the level between aircraft, at 100 kt.
        tilt: Standard deviation of the tilt between aircraft, in kappa per unit of s.
        point_kt: Standard uncertainty of a point, own error only, at any speed.
        sortie_kt: Standard uncertainty shared by the points of one sortie, at 100 kt.
        sorties: Of each aircraft, five points each.
        bend: Coefficient of t^2 in the true mean curve 0.03 + 0.06 t + bend t^2, t = s - 0.25; a
            bend of 0.2 is 0.4 kt at the slow and 0.2 kt at the fast end.
        ragged: Whether aircraft lose points at random, down to three, and points differ in
            uncertainty by a factor up to three.
        offsets_kt: Added to the level of the first aircraft of the first group.
        shape, off_kt: A departure of the true mean curve, see `true_shapes`, and how far it lies
            from the nearest quadratic where that is farthest.
        tails: How aircraft differ, with the same standard deviations: "normal"; "heavy", Student's
            t of three degrees of freedom; or "skewed", chi-square of four.
    """

    aircraft: int
    groups: int = 1
    spread_kt: float = 1.0
    tilt: float = 0.03
    point_kt: float = 0.7
    sortie_kt: float = 0.3
    sorties: int = 2
    bend: float = 0.0
    ragged: bool = False
    offsets_kt: tuple[float, ...] = ()
    shape: str = ""
    off_kt: float = 0.0
    tails: Literal["normal", "heavy", "skewed"] = "normal"

    @property
    def curve(self) -> Array:
        """True coefficients of 1, t, t^2."""
        return np.array([0.03, 0.06, self.bend])

    @property
    def spread(self) -> Array:
        """True D."""
        return np.diag([(KAPPA_PER_KT * self.spread_kt) ** 2, self.tilt**2])


def lift_at(speed_kt: Array) -> Array:
    """Return s = (Vs/V)^2."""
    return np.asarray((SCALING_SPEED_KT / speed_kt) ** 2)


def draw(plan: Plan, rng: np.random.Generator) -> FleetPoints:
    """Return the points of one invented fleet."""
    planes = plan.aircraft * plan.groups
    departures = drawn_departures(plan, rng)
    per_plane = plan.sorties * len(SPEEDS_KT)
    aircraft = np.repeat(np.arange(planes), per_plane)
    sortie = np.repeat(np.arange(planes * plan.sorties), len(SPEEDS_KT))
    speed = np.tile(SPEEDS_KT, planes * plan.sorties) + rng.uniform(-3.0, 3.0, len(sortie))
    own_kt = plan.point_kt * (rng.uniform(0.5, 1.5, len(speed)) if plan.ragged else 1.0)
    u_own = 2.0 * own_kt / speed
    u_shared = np.full(len(speed), KAPPA_PER_KT * plan.sortie_kt)
    lift = lift_at(speed)
    kappa = (
        mean_curve(plan, lift)
        + np.einsum("ni,ni->n", curve_basis(lift, 1), departures[aircraft])
        + u_own * rng.standard_normal(len(speed))
        + u_shared * rng.standard_normal(planes * plan.sorties)[sortie]
    )
    keep = _kept(aircraft, per_plane, rng) if plan.ragged else np.ones(len(lift), dtype=bool)
    group_of = np.repeat(np.arange(plan.groups), plan.aircraft)
    return FleetPoints(
        x=lift[keep],
        y=kappa[keep],
        u_own=u_own[keep],
        u_shared=u_shared[keep, None],
        sortie=sortie[keep],
        aircraft=aircraft[keep],
        group_of=group_of,
    )


def drawn_departures(plan: Plan, rng: np.random.Generator) -> Array:
    """Return the departures that `draw` gives its aircraft with a generator of the same seed."""
    departures = _departures(plan, plan.aircraft * plan.groups, rng)
    departures[: len(plan.offsets_kt), 0] += KAPPA_PER_KT * np.array(plan.offsets_kt)
    return departures


def _departures(plan: Plan, planes: int, rng: np.random.Generator) -> Array:
    """Return level and tilt of each aircraft, shape (planes, 2)."""
    if plan.tails == "normal":
        return rng.multivariate_normal(np.zeros(2), plan.spread, size=planes)
    if plan.tails == "heavy":
        standard = rng.standard_t(3.0, (planes, 2)) / np.sqrt(3.0)
    else:
        standard = (rng.chisquare(4.0, (planes, 2)) - 4.0) / np.sqrt(8.0)
    return np.asarray(standard * np.sqrt(np.diag(plan.spread)))


def _kept(aircraft: Index, per_plane: int, rng: np.random.Generator) -> npt.NDArray[np.bool_]:
    """Return which points are kept: three to all of each aircraft."""
    keep = np.zeros(len(aircraft), dtype=bool)
    for plane in np.unique(aircraft):
        mine = np.flatnonzero(aircraft == plane)
        keep[rng.choice(mine, size=rng.integers(3, per_plane + 1), replace=False)] = True
    return keep


def mean_curve(plan: Plan, lift: Array) -> Array:
    """Return the true mean curve."""
    curve = np.asarray(curve_basis(lift, 2) @ plan.curve)
    if not plan.shape:
        return curve
    speed = SCALING_SPEED_KT / np.sqrt(lift)
    return curve + 2.0 * plan.off_kt * shape_kt(plan.shape, speed, lift) / speed


def next_aircraft(plan: Plan, lift: Array, rng: np.random.Generator) -> Array:
    """Return the true curve of one more aircraft of the group."""
    departure = rng.multivariate_normal(np.zeros(2), plan.spread)
    own = departure[0] + departure[1] * (lift - MIDDLE_X)
    return np.asarray(mean_curve(plan, lift) + own)
