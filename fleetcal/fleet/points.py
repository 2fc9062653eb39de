"""The points of many aircraft, as arrays, with their own errors and those in common."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from fleetcal.errors import FitError

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]


def _no_terms() -> Array:
    return np.zeros((0, 0))


def _no_numbers() -> Index:
    return np.zeros(0, dtype=np.int64)


@dataclass(frozen=True, kw_only=True)
class FleetPoints:
    """Points of one aircraft type.

    Attributes:
        x (points,): What the curve is drawn over, without unit, about 0.05 to 0.8: the quantity
            says what it is, such as (Vs/Viw)^2, which goes with lift coefficient.
        y (points,): What was measured, such as the static-pressure error coefficient kappa.
        u_own (points,): Standard uncertainty of y that belongs to the point alone, above 0.
        u_shared (points, terms): Signed terms that have one unknown value for all points of a
            sortie.
        sortie (points,): Which sortie; numbers need not be consecutive.
        aircraft (points,): Which aircraft, 0 to aircraft - 1.
        group_of (aircraft,): Which group each aircraft belongs to, 0 to groups - 1.
        u_airframe (points, terms): Signed terms that have one unknown value for all points of an
            aircraft. The covariance of the points leaves them out: they are part of how aircraft
            are seen to differ.
        u_fleet (points, terms): Signed terms that have one unknown value for all points; left out
            likewise, since no difference between points shows them.
        number (points,): In the list that they were taken from; empty if they have none.
    """

    x: Array
    y: Array
    u_own: Array
    u_shared: Array
    sortie: Index
    aircraft: Index
    group_of: Index
    u_airframe: Array = field(default_factory=_no_terms)
    u_fleet: Array = field(default_factory=_no_terms)
    number: Index = field(default_factory=_no_numbers)

    def __post_init__(self) -> None:
        """Refuse what no fit could survive.

        Raises:
            FitError: If the arrays do not fit together, a value is not finite, an uncertainty is
                not above zero or an aircraft has no points.
        """
        for name in ("u_airframe", "u_fleet"):
            if not getattr(self, name).size:
                object.__setattr__(self, name, np.zeros((len(self.x), 0)))
        self._require_matching()
        for name in ("x", "y", "u_own", "u_shared", "u_airframe", "u_fleet"):
            if not np.all(np.isfinite(getattr(self, name))):
                called = {"x": "airspeed", "y": "measured value"}.get(name, name)
                raise FitError(f"a point has no finite {called}", "reject or correct that point")
        if np.any(self.u_own <= 0.0):
            raise FitError(
                "a point has no uncertainty",
                "give each point a standard uncertainty above zero",
            )

    def _require_matching(self) -> None:
        """Refuse arrays of different lengths and aircraft without points."""
        terms = (self.u_shared, self.u_airframe, self.u_fleet)
        columns = (self.y, self.u_own, *terms, self.sortie, self.aircraft)
        if any(len(column) != len(self.x) for column in columns) or any(
            term.ndim != 2 for term in terms
        ):
            raise FitError("the columns of the points differ in length", "give one value a point")
        if np.any(self.group_of < 0) or not np.array_equal(
            np.unique(self.aircraft), np.arange(len(self.group_of))
        ):
            raise FitError(
                "aircraft and points do not match",
                "number the aircraft from 0, each with a group and a point",
            )

    @property
    def groups(self) -> int:
        """Number of groups."""
        return int(self.group_of.max()) + 1 if len(self.group_of) else 0

    def rows_by_aircraft(self) -> list[Index]:
        """Return the points of each aircraft, in their order."""
        order = np.argsort(self.aircraft, kind="stable")
        ends = np.cumsum(np.bincount(self.aircraft, minlength=len(self.group_of)))
        return np.split(order, ends[:-1]) if len(ends) else []

    def error_covariance(self, rows: Index) -> Array:
        """Return R, the covariance of the errors of points and sorties.

        Args:
            rows (n,): Points of one aircraft.

        Returns:
            Shape (n, n).
        """
        sortie, shared = self.sortie[rows], self.u_shared[rows]
        together = (shared @ shared.T) * (sortie[:, None] == sortie[None, :])
        return np.asarray(np.diag(self.u_own[rows] ** 2) + together)

    def without_aircraft(self, gone: set[int]) -> FleetPoints:
        """Return the points of the other aircraft, aircraft numbered anew.

        Returns:
            Group numbers stay as they are.
        """
        keep_aircraft = np.array([a not in gone for a in range(len(self.group_of))])
        keep = keep_aircraft[self.aircraft]
        renumber = np.cumsum(keep_aircraft) - 1
        return FleetPoints(
            x=self.x[keep],
            y=self.y[keep],
            u_own=self.u_own[keep],
            u_shared=self.u_shared[keep],
            sortie=self.sortie[keep],
            aircraft=renumber[self.aircraft[keep]],
            group_of=self.group_of[keep_aircraft],
            u_airframe=self.u_airframe[keep],
            u_fleet=self.u_fleet[keep],
            number=self.number[keep] if len(self.number) else self.number,
        )
