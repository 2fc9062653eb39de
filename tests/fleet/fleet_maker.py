"""FleetPoints from a few columns, and random ones."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from fleetcal.fleet.points import Array, FleetPoints


def fleet_points(
    lift: npt.ArrayLike,
    kappa: npt.ArrayLike,
    u_own: npt.ArrayLike,
    aircraft: npt.ArrayLike,
    *,
    group_of: npt.ArrayLike | None = None,
    sortie: npt.ArrayLike | None = None,
    u_shared: npt.ArrayLike | None = None,
) -> FleetPoints:
    """Return points of one group without shared errors, unless told otherwise."""
    plane = np.asarray(aircraft, dtype=np.int64)
    size = len(plane)

    def column(values: npt.ArrayLike) -> Array:
        return np.broadcast_to(np.asarray(values, dtype=np.float64), (size,)).copy()

    return FleetPoints(
        x=column(lift),
        y=column(kappa),
        u_own=column(u_own),
        u_shared=np.zeros((size, 0))
        if u_shared is None
        else np.asarray(u_shared, dtype=np.float64),
        sortie=plane if sortie is None else np.asarray(sortie, dtype=np.int64),
        aircraft=plane,
        group_of=np.zeros(plane.max() + 1, dtype=np.int64)
        if group_of is None
        else np.asarray(group_of, dtype=np.int64),
    )


def random_points(
    seed: int, counts: tuple[int, ...], group_of: tuple[int, ...] | None = None, terms: int = 1
) -> FleetPoints:
    """Return uneven points, two sorties an aircraft, with shared terms of both signs."""
    rng = np.random.default_rng(seed)
    aircraft = np.repeat(np.arange(len(counts)), counts)
    size = len(aircraft)
    lift = rng.uniform(0.1, 0.6, size)
    kappa = 0.03 + 0.06 * (lift - 0.25) + rng.normal(0.0, 0.02, len(counts))[aircraft]
    return fleet_points(
        lift,
        kappa + rng.normal(0.0, 0.012, size),
        rng.uniform(0.005, 0.02, size),
        aircraft,
        group_of=group_of,
        sortie=rng.integers(0, 2, size) * 7 + 40 * aircraft,
        u_shared=rng.normal(0.0, 0.006, (size, terms)),
    )


def level_fleet(
    seed: int, aircraft: int, points: int, spread: float = 0.02, u: float = 0.01
) -> FleetPoints:
    """Return aircraft all flown at the same speeds, with level and tilt of their own."""
    rng = np.random.default_rng(seed)
    plane = np.repeat(np.arange(aircraft), points)
    lift = np.tile(np.linspace(0.1, 0.6, points), aircraft)
    level = rng.normal(0.0, spread, aircraft)[plane]
    tilt = rng.normal(0.0, 3.0 * spread, aircraft)[plane]
    kappa = 0.03 + level + (0.06 + tilt) * (lift - 0.25) + rng.normal(0.0, u, len(plane))
    return fleet_points(lift, kappa, u, plane)
