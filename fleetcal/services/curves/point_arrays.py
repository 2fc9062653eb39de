"""Stored points as the arrays that the fleet room works on."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fleetcal.fleet.basis import lift_from_airspeed
from fleetcal.fleet.points import FleetPoints
from fleetcal.store import PointRow, TypeDescription


def point_arrays(
    kind: TypeDescription,
    rows: Sequence[PointRow],
    aircraft: Sequence[int],
    group_of: Sequence[int],
) -> FleetPoints:
    """Turn stored points into arrays.

    Parameters
    ----------
    kind : TypeDescription
        For the scaling speed and the reference weight.
    rows : sequence of PointRow
    aircraft : sequence of int
        Unit of each point, numbered from 0.
    group_of : sequence of int
        Group of each unit, numbered from 0.

    Returns
    -------
    FleetPoints
        What belongs to a point alone is its whole uncertainty less the terms
        that others own, and never less than a tenth of the whole.

    Raises
    ------
    FitError
        If a point is not finite or claims no uncertainty.
    """
    names = sorted({term.name for row in rows for term in row.terms if term.owner != "point"})
    column = {name: i for i, name in enumerate(names)}
    shared = np.zeros((len(rows), len(names)))
    for i, row in enumerate(rows):
        for term in row.terms:
            if term.owner != "point":
                shared[i, column[term.name]] = term.u_kappa
    total = np.array([row.u_kappa for row in rows])
    own = np.sqrt(np.maximum(total**2 - (shared**2).sum(axis=1), (0.1 * total) ** 2))
    vic = np.array([row.vic_kt for row in rows])
    weight = np.array([row.weight_kg for row in rows])
    return FleetPoints(
        lift_from_airspeed(vic, kind.scaling_speed_kt, weight, kind.reference_weight_kg),
        np.array([row.kappa for row in rows]),
        own,
        shared,
        np.array([row.sortie_id for row in rows], dtype=np.int64),
        np.array(aircraft, dtype=np.int64),
        np.array(group_of, dtype=np.int64),
    )
