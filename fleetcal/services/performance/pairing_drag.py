"""What the glides of each engine and propeller tell of drag, for climbs flown light or heavy."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.performance.glide_slope import GlideSlope, fit_glide_slope
from fleetcal.errors import FitError
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.services.performance.climb_points import flown_path
from fleetcal.store import StoredClimb, TypeDescription
from fleetcal.units import MPS_PER_FTMIN


def accepted_glides(rows: Sequence[StoredClimb]) -> list[StoredClimb]:
    """Return the glides that may be used, at whatever state of the engine."""
    return [row for row in rows if row.kind == "glide" and row.accepted and not row.barred]


def drag_of_pairings(
    type_: TypeDescription, rows: Sequence[StoredClimb], cas_kt: Array
) -> dict[tuple[str, str], GlideSlope]:
    """Return how drag goes with lift, by engine and propeller, where glides tell it.

    Args:
        rows: Glides of any pairing and state of the engine.
        cas_kt (rows,): NaN where not known.

    Returns:
        Pairings whose glides are too few are not in it.
    """
    found: dict[tuple[str, str], GlideSlope] = {}
    known = [i for i in range(len(rows)) if np.isfinite(cas_kt[i])]
    for pairing in sorted({(rows[i].engine, rows[i].propeller) for i in known}):
        mine = [i for i in known if (rows[i].engine, rows[i].propeller) == pairing]
        try:
            found[pairing] = _slope(type_, [rows[i] for i in mine], cas_kt[mine])
        except FitError:
            continue  # its climbs are carried by thrust power, which is said with the curve
    return found


def _slope(type_: TypeDescription, rows: Sequence[StoredClimb], cas_kt: Array) -> GlideSlope:
    path = flown_path(type_, rows, cas_kt)
    scale = path.lift / path.tas_mps * MPS_PER_FTMIN
    u = scale * np.array([row.u_own_ftmin for row in rows])
    series = [(row.airframe, row.power_state) for row in rows]
    names = sorted(set(series))
    return fit_glide_slope(path.lift, path.coefficient, u, [names.index(one) for one in series])


def carried_words(
    points: Sequence[PooledPoint], rows: Sequence[StoredClimb], reference_kg: float
) -> Iterator[str]:
    """Say how climbs flown at another weight were brought to the reference weight.

    Args:
        points: From `climb_points`, of `rows`.
    """
    climbs = [i for i, row in enumerate(rows) if row.kind == "climb"]
    other = [i for i in climbs if abs(rows[i].weight_kg / reference_kg - 1.0) > 0.01]
    by_glides = sum(points[i].weight_kg == reference_kg for i in other)
    by_thrust = len(other) - by_glides
    if by_glides:
        yield (
            f"{by_glides} climbs were brought to {reference_kg:.0f} kg at the airspeed flown, by "
            "the drag that glides with the same engine and propeller show"
        )
    if by_thrust:
        yield (
            f"{by_thrust} climbs were brought to {reference_kg:.0f} kg by the thrust power given, "
            "which makes the best rate come out up to 1.5 kt too fast if they were flown 15 % "
            "light: reduce glides of that engine and propeller over the same airspeeds"
        )
