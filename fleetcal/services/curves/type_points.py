"""The points of a type in their groups, ready for every pooled fit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.points import FleetPoints
from fleetcal.services.curves.count_reasons import count_reasons
from fleetcal.services.curves.group_name import GroupName, Member
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.services.curves.quantity import Curve, PoolBasis


@dataclass(frozen=True, kw_only=True)
class TypePoints(PoolBasis):
    """Points of a type at one flap setting that count.

    Attributes:
        members: One for each aircraft number of `points`.
        rows: In the order of `points`.
        too_small: Groups left out because fewer than three airframes flew them, in words.
        barred: Accepted points that a failed leak check keeps out.
        rejected: Points that somebody rejected.
        in_small_groups: Who flew the groups that are too small.
    """

    groups: tuple[GroupName, ...]
    members: tuple[Member, ...]
    points: FleetPoints
    rows: tuple[PooledPoint, ...]
    too_small: tuple[str, ...] = ()
    barred: tuple[PooledPoint, ...] = ()
    rejected: tuple[PooledPoint, ...] = ()
    in_small_groups: frozenset[Member] = frozenset()

    def rows_of(self, group: int) -> list[PooledPoint]:
        """Return the points of one group."""
        owner = self.points.group_of[self.points.aircraft]
        return [row for row, g in zip(self.rows, owner, strict=True) if g == group]

    def rows_of_member(self, number: int) -> list[PooledPoint]:
        """Return the points of one airframe in one group."""
        return [self.rows[i] for i in np.flatnonzero(self.points.aircraft == number)]

    def barred_of(self, group: GroupName | None) -> tuple[str, ...]:
        """Return what is barred of a group, or of all, a sentence for each airframe and reason."""
        rows = [row for row in self.barred if group is None or group.holds(row)]
        return count_reasons((row.airframe, row.barred) for row in rows)


def curve_of(coefficients: Array) -> Curve:
    """Return the curve that has some coefficients."""

    def y_at(x: Array) -> Array:
        return np.asarray(curve_basis(x, len(coefficients) - 1) @ coefficients)

    return y_at
