"""What is known of the curve that a plan is to narrow: by a group's fit, or the airframe's own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.next_points import FlightToCome, PlannedPoints, PointsToPlan, plan_rows
from fleetcal.fleet.usual_sortie import sortie_information


class KnownCurve(Protocol):
    """A curve that flights to come make better known, over a grid of places."""

    @property
    def factor(self) -> float:
        """On the variances of points to come."""

    def deviation(self, flights: Sequence[FlightToCome] = ()) -> Array:
        """Return the half width of the 95 % band after flights, over 1.96, shape (grid,)."""

    def plan(self, wished: PointsToPlan) -> PlannedPoints:
        """Choose the points of sorties, all at places of the grid."""


@dataclass(frozen=True, kw_only=True)
class CurveInGroup:
    """The curve of an airframe as one of a group that is large enough to tell the spread.

    Attributes:
        covariance (order + 1, order + 1): Of its coefficients.
        x (grid,): Where the width counts, and points may be flown.
    """

    covariance: Array
    x: Array
    factor: float

    def deviation(self, flights: Sequence[FlightToCome] = ()) -> Array:
        """Return the standard deviation after flights, shape (grid,)."""
        order = len(self.covariance) - 1
        information = np.linalg.inv(self.covariance)
        for flight in flights:
            more = sortie_information(flight.x[None], order, flight.u_own, flight.u_shared)
            information = information + more[0]
        rows = curve_basis(self.x, order)
        variance = np.einsum("xi,xi->x", rows, np.linalg.solve(information, rows.T).T)
        return np.asarray(np.sqrt(variance))

    def plan(self, wished: PointsToPlan) -> PlannedPoints:
        """Choose the points of sorties that leave the largest width least."""
        rows = curve_basis(self.x, len(self.covariance) - 1)
        return plan_rows(self.covariance, rows, rows, wished)
