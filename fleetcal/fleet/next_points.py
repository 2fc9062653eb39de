"""Which points of one aircraft would narrow its own curve most: an optimal design by exchange.

What is known of an aircraft's own curve, at the spread that the fleet shows, is
the group's curve with the spread about it, and the aircraft's own sums. A
planned point adds x x'/u^2 to the sums; of all candidates the one is taken that
leaves the largest width least, and so on, and single points are exchanged as
long as that helps: one point alone often cannot lower the largest width, so that
the first choice may be a poor one (V. V. Fedorov, Theory of optimal experiments,
1972, for the sequential construction and the exchange).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.likelihood import departure_columns
from fleetcal.fleet.points import Array, FleetPoints, Index
from fleetcal.fleet.pooled import PooledFit
from fleetcal.fleet.sums import aircraft_sums

_ROUNDS: Final = 8


@dataclass(frozen=True)
class PlannedPoints:
    """Points in the order in which they help, and the widths they should leave.

    Attributes
    ----------
    chosen : ndarray of int, shape (count,)
        Places among the candidates; one may be flown several times.
    before : ndarray, shape (grid,)
        Standard deviation of the aircraft's own curve now.
    after : ndarray, shape (count, grid)
        The same after each of the chosen points.
    """

    chosen: Index
    before: Array
    after: Array


class _Task:
    """Widths that a choice of candidates leaves, and searches for the best choice."""

    def __init__(
        self,
        covariance: Array,
        candidates: Array,
        rows: Array,
        scale: Array,
        u_own: float,
        u_shared: float,
    ) -> None:
        self.known = np.asarray(np.linalg.inv(covariance), dtype=np.float64)
        self.candidates, self.rows, self.scale = candidates, rows, scale
        self.u_own, self.u_shared = u_own, u_shared

    def deviation(self, chosen: list[int]) -> Array:
        if not chosen:
            return _deviation(self.known, self.rows)
        order = len(self.known) - 1
        more = _information(self.candidates[chosen], order, self.u_own, self.u_shared)
        return _deviation(self.known + more, self.rows)

    def largest(self, chosen: list[int]) -> tuple[float, float]:
        """Return the largest width, and all together for choices that are equal in that."""
        widths = self.deviation(chosen) * self.scale
        return round(float(widths.max()), 12), float(widths.sum())

    def in_turn(self, places: Iterable[int], count: int, once: bool = False) -> list[int]:
        """Take `count` of the places one after another, each time what helps most."""
        left, chosen = list(places), list[int]()
        while len(chosen) < count:
            best = min(left, key=lambda k: (*self.largest([*chosen, k]), k))
            chosen.append(best)
            if once:
                left.remove(best)
        return chosen

    def exchanged(self, start: list[int]) -> list[int]:
        """Exchange single points for better ones until none is left to exchange."""
        chosen = list(start)
        for _ in range(_ROUNDS):
            before = self.largest(chosen)
            for place in range(len(chosen)):
                others = [*chosen[:place], *chosen[place + 1 :]]
                chosen = min(([*others, k] for k in range(len(self.candidates))), key=self.largest)
            if self.largest(chosen) >= before:
                break
        return chosen


def own_covariance(fit: PooledFit, group: int, aircraft: int | None) -> Array:
    """Return the covariance of an aircraft's own curve, given the averaged spread.

    Parameters
    ----------
    fit : PooledFit
    group : int
    aircraft : int or None
        Number in the fit; None for one that has not flown yet.

    Returns
    -------
    ndarray, shape (order + 1, order + 1)

    Raises
    ------
    FitError
        If the others of the group do not determine its curve.
    """
    spread = fit.averaged.mean_spread()
    size = departure_columns(fit.order)
    products = fit.sums.products[:, :-1, :-1] / fit.phi
    others = np.flatnonzero(fit.sums.group_of == group)
    others = others[others != aircraft] if aircraft is not None else others
    inner = np.linalg.inv(np.linalg.inv(_regular(spread)) + products[others][:, :size, :size])
    known = products[others].sum(axis=0) - np.einsum(
        "aij,ajk,akl->il", products[others][:, :, :size], inner, products[others][:, :size]
    )
    if np.linalg.cond(known) > 1e14:
        raise FitError(
            "the other aircraft of the group do not determine its curve",
            "fly more aircraft, or ask for a lower order",
        )
    prior = np.linalg.inv(known)
    prior[:size, :size] += spread
    if aircraft is None:
        return prior
    own: Array = np.linalg.inv(np.linalg.inv(prior) + products[aircraft])
    return own


def plan_points(
    covariance: Array,
    candidates: Array,
    grid: Array,
    scale: Array,
    u_own: float,
    u_shared: float,
    count: int,
) -> PlannedPoints:
    """Choose the points of one sortie.

    Parameters
    ----------
    covariance : ndarray, shape (order + 1, order + 1)
        Of the aircraft's own curve, from `own_covariance`.
    candidates : ndarray, shape (n,)
        s that may be flown.
    grid : ndarray, shape (grid,)
        s at which the width counts.
    scale : ndarray, shape (grid,)
        By which a width counts there: knots for each unit of y, for example.
    u_own, u_shared : float
        Standard uncertainty of one point, and what all points of the sortie share.
    count : int
        Points to choose.

    Returns
    -------
    PlannedPoints
    """
    rows = curve_basis(grid, len(covariance) - 1)
    task = _Task(covariance, candidates, rows, scale, u_own, u_shared)
    spread = np.rint(np.linspace(0, len(candidates) - 1, count)).astype(int).tolist()
    every = range(len(candidates))
    found = min(
        (task.exchanged(start) for start in (task.in_turn(every, count), spread)), key=task.largest
    )
    chosen = task.in_turn(found, count, once=True)
    after = [task.deviation(chosen[: n + 1]) for n in range(count)]
    return PlannedPoints(np.array(chosen, dtype=np.int64), task.deviation([]), np.array(after))


def width_after(
    covariance: Array, lift: Array, grid: Array, u_own: float, u_shared: float
) -> Array:
    """Return the standard deviation of an aircraft's own curve after given points.

    Parameters
    ----------
    covariance : ndarray, shape (order + 1, order + 1)
    lift : ndarray, shape (n,)
        Points of one sortie.
    grid : ndarray, shape (grid,)
    u_own, u_shared : float

    Returns
    -------
    ndarray, shape (grid,)
    """
    order = len(covariance) - 1
    more = _information(lift, order, u_own, u_shared)
    known = np.asarray(np.linalg.inv(covariance), dtype=np.float64)
    return _deviation(known + more, curve_basis(grid, order))


def _information(lift: Array, order: int, u_own: float, u_shared: float) -> Array:
    """Return what a sortie's points add to the inverse covariance of the curve."""
    size = len(lift)
    planned = FleetPoints(
        lift,
        np.zeros(size),
        np.full(size, u_own),
        np.full((size, 1), u_shared),
        np.zeros(size, dtype=np.int64),
        np.zeros(size, dtype=np.int64),
        np.zeros(1, dtype=np.int64),
    )
    return aircraft_sums(planned).with_order(order).products[0, :-1, :-1]


def _deviation(information: Array, rows: Array) -> Array:
    variance = np.einsum("xi,xi->x", rows, np.linalg.solve(information, rows.T).T)
    return np.asarray(np.sqrt(variance))


def _regular(spread: Array) -> Array:
    """Return D with a trace of its own size on the diagonal, so that it can be inverted."""
    return np.asarray(spread + 1e-10 * max(float(np.trace(spread)), 1e-12) * np.eye(len(spread)))
