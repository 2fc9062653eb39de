"""What ordinary flights would do in place of a test sortie: whoever flies anyway may log it.

Learnt from the ordinary flights in the store: their airspeeds, how many points each gave and how
uncertain. Of a store with fewer than three of them the figures are those of simulated flights
(`python -m tests.airdata.simulations.usual_flight`: five points a flight from 65 to 114 kt, of
0.80 to 0.84 kt each and little in common; Monte Carlo error of the ends 0.6 kt).
"""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.fleet.next_points import FlightToCome
from fleetcal.fleet.points import Index
from fleetcal.fleet.usual_sortie import usual_sortie
from fleetcal.records import ORDINARY_FLIGHT
from fleetcal.services.curves.speed_grid import knots_for_each_kappa, lift_at
from fleetcal.services.performance.plan_basis import PlanBasis
from fleetcal.services.performance.plan_values import OrdinaryFlights
from fleetcal.services.performance.usual_test_flight import rows_by

FLIGHTS: Final = 3
_FEWEST_STORED: Final = 3
_POINTS: Final = 5
_SLOWEST_KT, _FASTEST_KT, _U_KT = 65.0, 114.0, 0.82


def ordinary_flights(basis: PlanBasis, flights: int = FLIGHTS) -> OrdinaryFlights:
    """Return what some ordinary flights of the airframe would leave."""
    points, rows = basis.known.points, rows_by(basis.known.rows, ORDINARY_FLIGHT)
    factor = basis.curve.factor
    stored = len(np.unique(points.sortie[rows]))
    if stored >= _FEWEST_STORED:
        speeds = _usual_speeds(basis, rows)
        lift = lift_at(basis.known.type, speeds, basis.weight_kg)
        u_own, u_shared = usual_sortie(points, rows).at(lift, factor)
    else:
        speeds = _spaced(basis, _SLOWEST_KT, _FASTEST_KT, _POINTS)
        lift = lift_at(basis.known.type, speeds, basis.weight_kg)
        u_own = _U_KT / knots_for_each_kappa(speeds) * np.sqrt(factor)
        u_shared = np.zeros((len(speeds), 1))
    one = FlightToCome(x=lift, u_own=u_own, u_shared=u_shared)
    largest = float(np.max(basis.half_kt * basis.curve.deviation([one] * flights)))
    learnt_from = stored if stored >= _FEWEST_STORED else 0
    return OrdinaryFlights(flights=flights, largest_after_kt=largest, learnt_from=learnt_from)


def _usual_speeds(basis: PlanBasis, rows: Index) -> Array:
    """Return airspeeds of a flight as those of the airframe had them, or else of all."""
    points, speed = basis.known.points, basis.known.scale.speed_at(basis.known.points.x)
    own = rows[points.aircraft[rows] == basis.place] if basis.place is not None else rows[:0]
    mine = own if len(own) else rows
    flights = [speed[mine[points.sortie[mine] == one]] for one in np.unique(points.sortie[mine])]
    low, high, count = (
        float(np.median([measure(one) for one in flights])) for measure in (np.min, np.max, len)
    )
    return _spaced(basis, low, high, max(round(count), 1))


def _spaced(basis: PlanBasis, low_kt: float, high_kt: float, count: int) -> Array:
    """Return airspeeds equally spaced, not outside those that the curve is asked for."""
    low, high = np.clip((low_kt, high_kt), basis.speeds[0], basis.speeds[-1])
    return np.linspace(low, high, count)
