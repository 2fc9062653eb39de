"""Sufficient sums of each aircraft: all that the pooled fit needs of its points.

With R the covariance of an aircraft's points (own errors on the diagonal, the
errors shared by a sortie added) and W = [X, y], the fit needs only W'R^-1W,
log det R and the number of points. R^-1 is applied by the Woodbury identity,
so the cost is linear in points and one small matrix a sortie. Source: D. A.
Harville, Maximum likelihood approaches to variance component estimation, JASA
72 (1977).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from fleetcal.fleet.basis import HIGHEST_ORDER, curve_basis
from fleetcal.fleet.points import Array, FleetPoints, Index


@dataclass(frozen=True, kw_only=True)
class AircraftSums:
    """Sums per aircraft over the full basis 1, t, t^2 with y appended.

    Attributes:
        products (aircraft, 4, 4): W'R^-1W.
        log_det (aircraft,): log det R.
        count (aircraft,): Points.
        group_of: Shape (aircraft,).
        reach (aircraft, 2): Lowest and highest t flown.
    """

    products: Array
    log_det: Array
    count: Index
    group_of: Index
    reach: Array

    def with_order(self, order: int) -> AircraftSums:
        """Return the sums for a curve of a lower order.

        Args:
            order: 0, 1 or 2.

        Returns:
            With products of shape (aircraft, order + 2, order + 2).
        """
        keep = [*range(order + 1), HIGHEST_ORDER + 1]
        return replace(self, products=self.products[:, keep][:, :, keep])

    def own_lines(self, size: int) -> tuple[Array, Array]:
        """Return level and tilt of each aircraft by its own points alone, and their covariance.

        Args:
            size: 2, or 1 for the level alone.

        Returns:
            Shapes (aircraft, size) and (aircraft, size, size): Of an aircraft flown at one speed,
            the smallest level and tilt that do.
        """
        covariance = np.linalg.pinv(self.products[:, :size, :size], rcond=1e-9, hermitian=True)
        lines = np.einsum("akl,al->ak", covariance, self.products[:, :size, -1])
        return lines, np.asarray(covariance)

    def select(self, keep: Index) -> AircraftSums:
        """Return the sums of some of the aircraft.

        Args:
            keep: Which aircraft, as numpy indexes them.
        """
        return AircraftSums(
            products=self.products[keep],
            log_det=self.log_det[keep],
            count=self.count[keep],
            group_of=self.group_of[keep],
            reach=self.reach[keep],
        )


def joined_sums(parts: Sequence[AircraftSums]) -> AircraftSums:
    """Return the sums of several lots of aircraft, one lot after another.

    Args:
        parts: Of one order and of the same groups.
    """
    names = [f.name for f in fields(AircraftSums)]
    return AircraftSums(
        **{name: np.concatenate([getattr(part, name) for part in parts]) for name in names}
    )


def aircraft_sums(points: FleetPoints) -> AircraftSums:
    """Return the sums of every aircraft.

    Args:
        points: In any order; there may be none.
    """
    order = np.lexsort((points.sortie, points.aircraft))
    aircraft, sortie = points.aircraft[order], points.sortie[order]
    rows = np.column_stack([curve_basis(points.x[order], HIGHEST_ORDER), points.y[order]])
    precision = 1.0 / points.u_own[order] ** 2
    shared = points.u_shared[order]
    is_new = np.r_[True, (np.diff(aircraft) != 0) | (np.diff(sortie) != 0)]
    new = np.flatnonzero(is_new[: len(order)])  # of no points, none is the first of a sortie

    def by_sortie(left: Array, right: Array) -> Array:
        outer = left[:, :, None] * (precision[:, None] * right)[:, None, :]
        return np.add.reduceat(outer, new, axis=0)

    own = by_sortie(rows, rows)
    log_det = np.add.reduceat(-np.log(precision), new)
    if shared.shape[1]:
        cross = by_sortie(rows, shared)
        inner = np.eye(shared.shape[1]) + by_sortie(shared, shared)
        own = own - cross @ np.linalg.solve(inner, np.swapaxes(cross, 1, 2))
        log_det = log_det + np.linalg.slogdet(inner)[1]
    owner = aircraft[new]
    planes = len(points.group_of)
    products = np.zeros((planes, *own.shape[1:]))
    np.add.at(products, owner, own)
    return AircraftSums(
        products=(products + np.swapaxes(products, 1, 2)) / 2.0,
        log_det=np.asarray(np.bincount(owner, weights=log_det, minlength=planes), dtype=np.float64),
        count=np.bincount(aircraft, minlength=planes),
        group_of=points.group_of,
        reach=_reach(rows[:, 1], aircraft, planes),
    )


def _reach(t: Array, aircraft: Index, planes: int) -> Array:
    """Return lowest and highest t of each aircraft."""
    reach = np.tile([np.inf, -np.inf], (planes, 1))
    np.minimum.at(reach[:, 0], aircraft, t)
    np.maximum.at(reach[:, 1], aircraft, t)
    return reach
