"""What flights to come would leave uncertain of an aircraft's own curve, and the best next ones.

The band that is foreseen is made by the sums that make the band afterwards (`own_curve`): points
to come join those flown, each reading what the curve is now taken to be. What is thought of the
spread between aircraft, and of what no quadratic follows, stays as the flights so far left it:
on average over what may be read it does. Errors that last stay in the band whatever is flown.
The points are chosen by the covariance of the curve between the speeds, as `next_points` chooses.

Of 160 simulated airframes without a group, planned, flown and reduced three times, the largest
half band got was 1.05, 1.04 and 1.02 (+- 0.02) of that foreseen by the plan of the first, second
and third flight, 0.93, 0.81 and 0.71 kt; with the port of a handbook, of a shape that the model
lacks, 1.09, 1.05 and 1.01 (+- 0.03). What was foreseen of all three before the first flight was
met as well (``python -m tests.airdata.simulations.foreseen_table --airframes 160``, seed 23).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fleetcal.fleet.next_points import (
    FlightToCome,
    PlannedPoints,
    PointsToPlan,
    plan_rows,
    spread_rows,
)
from fleetcal.fleet.own_curve import AircraftCurve, OwnPoints, own_curve
from fleetcal.fleet.points import Array

#: Half width of a 95 % band in standard deviations.
TWO_SIDED_95: Final = 1.959964
#: That keeps a covariance between places from being singular, in y: 0.005 kt at 100 kt.
_LEAST_U: Final = 1e-4
_LEAST_WEIGHT: Final = 1e-300


@dataclass(frozen=True, kw_only=True)
class ForeseenOwn:
    """An aircraft's own curve with flights to come.

    Attributes:
        curve: By what was flown, and by the flights to come that were added.
        x (grid,): Where the width of its band counts, and points may be flown.
        lasting (terms,): Errors that last, in y, of a point to come.
    """

    curve: AircraftCurve
    x: Array
    lasting: Array

    @property
    def factor(self) -> float:
        """On the variances of points to come: they scatter as those flown."""
        return self.curve.scatter**2

    def deviation(self, flights: Sequence[FlightToCome] = ()) -> Array:
        """Return the half width of the 95 % band after flights, over 1.96, shape (grid,)."""
        band = self.after(flights).curve.band(self.x)
        return np.asarray((band.high - band.low) / (2.0 * TWO_SIDED_95))

    def after(self, flights: Sequence[FlightToCome]) -> ForeseenOwn:
        """Return what is known after flights to come."""
        if not flights:
            return self
        seen, weights = self.curve.parts, self.curve.weights()
        own = seen[0].own
        before = tuple(
            replace(part.before, weight=np.maximum(weight, _LEAST_WEIGHT), counted=True)
            for part, weight in zip(seen, weights, strict=True)
        )
        curve = own_curve(before, _joined(own, flights, self.curve, self.lasting))
        return replace(self, curve=replace(curve, scatter=self.curve.scatter))

    def plan(self, wished: PointsToPlan) -> PlannedPoints:
        """Choose the points of sorties that leave the largest band least.

        The search goes by the covariance alone, which takes errors that last for such as flights
        make less of; where equally spaced points leave less than what it found, they are taken.
        """
        many = np.eye(len(self.x))
        covariance = self.curve.covariance(self.x) + _LEAST_U**2 * many
        ways = (plan_rows, spread_rows)
        plans = [self._foreseen(way(covariance, many, many, wished), wished) for way in ways]
        return min(plans, key=lambda plan: float(np.max(wished.scale * plan.after[-1])))

    def _foreseen(self, chosen: PlannedPoints, wished: PointsToPlan) -> PlannedPoints:
        after = [
            self.deviation(_flights(self.x, chosen, wished, number))
            for number in range(1, wished.count + 1)
        ]
        return replace(chosen, before=self.deviation(), after=np.array(after))


def _flights(
    x: Array, chosen: PlannedPoints, wished: PointsToPlan, number: int
) -> list[FlightToCome]:
    """Return the first so many of the chosen points as sorties."""
    place, sortie = chosen.chosen[:number], chosen.sortie[:number]
    groups = [place[sortie == one] for one in np.unique(sortie)]
    return [
        FlightToCome(x=x[some], u_own=wished.u_own[some], u_shared=wished.u_shared[some])
        for some in groups
    ]


def _joined(
    own: OwnPoints, flights: Sequence[FlightToCome], curve: AircraftCurve, lasting: Array
) -> OwnPoints:
    """Return the points flown, with those of flights to come as the curve has them."""
    x = np.concatenate([flight.x for flight in flights])
    errors = np.zeros((len(own.x) + len(x), len(own.x) + len(x)))
    errors[: len(own.x), : len(own.x)] = own.errors
    first = len(own.x)
    for flight in flights:
        here = slice(first, first + len(flight.x))
        errors[here, here] = np.diag(flight.u_own**2) + flight.u_shared @ flight.u_shared.T
        first += len(flight.x)
    flown = own.lasting if own.lasting.shape[1] else np.zeros((len(own.x), len(lasting)))
    return OwnPoints(
        x=np.concatenate([own.x, x]),
        y=np.concatenate([own.y, curve.centre(x)]),
        errors=errors,
        lasting=np.vstack([flown, np.tile(lasting, (len(x), 1))]),
    )
