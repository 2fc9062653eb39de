"""Stored points as the arrays that the fleet room works on."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fleetcal.fleet.basis import lift_from_airspeed
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.store import PointRow, TypeDescription


def point_arrays(
    kind: TypeDescription,
    rows: Sequence[PointRow],
    aircraft: Sequence[int],
    group_of: Sequence[int],
) -> FleetPoints:
    """Turn stored points into arrays.

    Args:
        kind: For the scaling speed and the reference weight.
        aircraft: Unit of each point, numbered from 0.
        group_of: Group of each unit, numbered from 0.

    Returns:
        What belongs to a point alone is its whole uncertainty less the terms that others own, and
        never less than a tenth of the whole.

    Raises:
        FitError: If a point is not finite or claims no uncertainty.
    """
    sortie, airframe, fleet = (terms_of(rows, owner) for owner in ("sortie", "airframe", "fleet"))
    total = np.array([row.u_kappa for row in rows])
    others = sum((terms**2).sum(axis=1) for terms in (sortie, airframe, fleet))
    own = np.sqrt(np.maximum(total**2 - others, (0.1 * total) ** 2))
    vic = np.array([row.vic_kt for row in rows])
    weight = np.array([row.weight_kg for row in rows])
    return FleetPoints(
        x=lift_from_airspeed(vic, kind.scaling_speed_kt, weight, kind.reference_weight_kg),
        y=np.array([row.kappa for row in rows]),
        u_own=own,
        u_shared=sortie,
        sortie=np.array([row.sortie_id for row in rows], dtype=np.int64),
        aircraft=np.array(aircraft, dtype=np.int64),
        group_of=np.array(group_of, dtype=np.int64),
        u_airframe=airframe,
        u_fleet=fleet,
    )


def terms_of(rows: Sequence[PointRow], owner: str) -> Array:
    """Return the terms of one owner, a column for each name.

    Args:
        owner: ``point``, ``sortie``, ``airframe`` or ``fleet``.

    Returns:
        Shape (rows, names): Signed, in kappa; 0 where a point has no such term.
    """
    names = sorted({term.name for row in rows for term in row.terms if term.owner == owner})
    column = {name: i for i, name in enumerate(names)}
    found = np.zeros((len(rows), len(names)))
    for i, row in enumerate(rows):
        for term in row.terms:
            if term.owner == owner:
                found[i, column[term.name]] = term.u_kappa
    return found
