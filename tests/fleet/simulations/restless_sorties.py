"""Sorties whose errors follow none of the suppositions of a plan.

What a plan knows of a sortie to come is one own and one common uncertainty. Here air is smooth on
one day and rough on another; points of a sortie differ in what they state; what they state to
share has three signed parts, one for all and two for winds that drift. What really happens is of
another kind still: own errors of long tails, and in place of the drifts a walk from run to run.
Only the sizes are as stated: a budget that lies is a matter for other simulations.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.points import Array, FleetPoints

from .invented_fleet import SPEEDS_KT, Plan, lift_at

#: Knots at any speed: kappa is twice the error over the airspeed.
_DRIFT_KT = 0.2
_TAIL = 5.0


@dataclass(frozen=True, kw_only=True)
class Sortie:
    """Points of one sortie of one aircraft, in the order of flying."""

    aircraft: int
    lift: Array
    kappa: Array
    u_own: Array
    u_shared: Array


def fly_restless(
    plan: Plan, aircraft: int, curve: Array, speeds_kt: Array, rng: np.random.Generator
) -> Sortie:
    """Fly a sortie, the fastest first as the card says."""
    speeds = np.sort(speeds_kt)[::-1]
    count, knot = len(speeds), 2.0 / speeds
    place = np.linspace(-1.0, 1.0, count) if count > 1 else np.zeros(1)
    rough, wind = np.exp(0.3 * rng.standard_normal()), np.exp(0.4 * rng.standard_normal())
    own_kt = plan.point_kt * rough * np.exp(0.2 * rng.standard_normal(count))
    drift_kt = _DRIFT_KT * wind * rng.choice([-1.0, 1.0], 2)
    parts_kt = np.column_stack(
        [
            np.full(count, plan.sortie_kt * wind),
            drift_kt[0] * place,
            drift_kt[1] * (place**2 - np.mean(place**2)),
        ]
    )
    walk = np.cumsum(rng.standard_normal(count))
    walk -= walk.mean()
    size = np.sqrt(np.mean(parts_kt[:, 1:] ** 2) * 2.0)
    walk *= size / max(float(np.sqrt(count / 6.0)), 1.0)
    error_kt = own_kt * _long_tailed(rng, count) + walk
    error_kt += plan.sortie_kt * wind * _long_tailed(rng, 1)
    lift = lift_at(speeds)
    return Sortie(
        aircraft=aircraft,
        lift=lift,
        kappa=curve_basis(lift, 2) @ curve + knot * error_kt,
        u_own=knot * own_kt,
        u_shared=knot[:, None] * parts_kt,
    )


def restless_fleet(
    plan: Plan, flown_kt: Sequence[tuple[float, ...]], rng: np.random.Generator
) -> tuple[list[Sortie], Array]:
    """Return the sorties of a fleet, and the curve of its first aircraft, which flew those speeds.

    The first aircraft has no sortie where it flew nothing.
    """
    departures = rng.multivariate_normal(np.zeros(2), plan.spread, size=plan.aircraft)
    curves = plan.curve + np.column_stack([departures, np.zeros(plan.aircraft)])
    sorties = [
        fly_restless(plan, 0, curves[0], np.array(speeds) + rng.uniform(-2, 2, len(speeds)), rng)
        for speeds in flown_kt
    ]
    for aircraft in range(1, plan.aircraft):
        for _ in range(plan.sorties):
            speeds = SPEEDS_KT + rng.uniform(-3.0, 3.0, len(SPEEDS_KT))
            sorties.append(fly_restless(plan, aircraft, curves[aircraft], speeds, rng))
    return sorties, curves[0]


def as_points(sorties: Sequence[Sortie]) -> FleetPoints:
    """Return the points of sorties; aircraft that flew are numbered from 0 in their order."""
    owners = sorted({one.aircraft for one in sorties})
    number = np.concatenate([np.full(len(one.lift), k) for k, one in enumerate(sorties)])
    aircraft = np.array([owners.index(one.aircraft) for one in sorties])
    return FleetPoints(
        x=np.concatenate([one.lift for one in sorties]),
        y=np.concatenate([one.kappa for one in sorties]),
        u_own=np.concatenate([one.u_own for one in sorties]),
        u_shared=np.concatenate([one.u_shared for one in sorties]),
        sortie=number,
        aircraft=aircraft[number],
        group_of=np.zeros(len(owners), dtype=np.int64),
    )


def _long_tailed(rng: np.random.Generator, count: int) -> Array:
    """Draw from Student's t of few degrees of freedom, of standard deviation 1."""
    return np.asarray(rng.standard_t(_TAIL, count) * np.sqrt((_TAIL - 2.0) / _TAIL))
