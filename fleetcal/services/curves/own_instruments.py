"""How much of an airframe's departure its own instruments may be to blame for."""

from __future__ import annotations

import numpy as np
from scipy import stats

from fleetcal.airdata.atmosphere import Array
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.own_lines import own_line
from fleetcal.fleet.points import Index
from fleetcal.services.as_read import never_on_a_bench
from fleetcal.services.curves.groups import TypePoints
from fleetcal.services.curves.speed_grid import lift_at


def instruments_u95_kt(known: TypePoints, number: int, coefficients: int, ias_kt: float) -> float:
    """Return what lasting errors of an airframe's instruments may add to its departure.

    More sorties do not make it smaller: every point has the same error.

    Args:
        number: Of the member.
        coefficients: Of the departure: level, or level and tilt.
        ias_kt: At reference weight.

    Returns:
        Expanded to 95 %, in the unit of the quantity; 0 where no term is known.
    """
    rows = np.flatnonzero(known.points.aircraft == number)
    if not known.points.u_airframe.shape[1] or not coefficients:
        return 0.0
    at = np.array([ias_kt])
    lift = lift_at(known.type, at, known.type.reference_weight_kg)
    shift = _own_map(known, rows, coefficients) @ known.points.u_airframe[rows]
    u = float(np.linalg.norm(curve_basis(lift, coefficients - 1) @ shift))
    half = np.array([float(stats.norm.ppf(0.975)) * u])
    told = known.quantity.convert(at, half) - known.quantity.convert(at, np.zeros(1))
    return abs(float(told[0]))


def _own_map(known: TypePoints, rows: Index, coefficients: int) -> Array:
    """Return the generalised least-squares map from points to departure."""
    line = own_line(known.points, rows)
    z = line.z[:, :coefficients]
    weighed = z.T @ line.precision
    return np.asarray(np.linalg.solve(weighed @ z, weighed), dtype=np.float64)


def unchecked(known: TypePoints, number: int) -> bool:
    """Return whether any point of a member was read on an indicator never on a bench."""
    rows = np.flatnonzero(known.points.aircraft == number)
    return any(never_on_a_bench(known.rows[i].terms) for i in rows)
