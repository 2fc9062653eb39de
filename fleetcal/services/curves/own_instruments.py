"""How much of an airframe's departure its own instruments may be to blame for."""

from __future__ import annotations

import numpy as np
from scipy import special

from fleetcal.airdata.atmosphere import Array
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.own_lines import own_line
from fleetcal.fleet.points import Index
from fleetcal.services.curves.quantity import Curve
from fleetcal.services.curves.type_points import TypePoints


def instruments_u95(
    known: TypePoints, number: int, coefficients: int, speed_kt: float, about: Curve
) -> float:
    """Return what lasting errors of an airframe's instruments may add to its departure.

    More sorties do not make it smaller: every point has the same error.

    Args:
        number: Of the member.
        coefficients: Of the departure: level, or level and tilt.
        speed_kt: At reference weight.
        about: Curve of the group.

    Returns:
        Expanded to 95 %, in the unit of the quantity; 0 where no term is known.
    """
    rows = np.flatnonzero(known.points.aircraft == number)
    if not known.points.u_airframe.shape[1] or not coefficients:
        return 0.0
    at = np.array([speed_kt])
    shift = _own_map(known, rows, coefficients) @ known.points.u_airframe[rows]
    u = float(np.linalg.norm(curve_basis(known.scale.x_at(at), coefficients - 1) @ shift))
    half = np.array([float(special.ndtri(0.975)) * u])
    return abs(float(known.scale.small(at, half, about)[0]))


def _own_map(known: TypePoints, rows: Index, coefficients: int) -> Array:
    """Return the generalised least-squares map from points to departure."""
    line = own_line(known.points, rows)
    z = line.z[:, :coefficients]
    weighed = z.T @ line.precision
    return np.asarray(np.linalg.solve(weighed @ z, weighed), dtype=np.float64)


def unchecked(known: TypePoints, number: int) -> bool:
    """Return whether any point of a member was read on an indicator never on a bench."""
    return any(row.never_on_bench for row in known.rows_of_member(number))
