"""Which points of one aircraft would narrow its own curve most: a greedy optimal design.

What is known of an aircraft's own curve, at the spread that the fleet shows, is
the group's curve with the spread about it, and the aircraft's own sums. A
planned point adds x x'/u^2 to the sums; of all candidates the one is taken that
leaves the largest width least, and so on (V. V. Fedorov, Theory of optimal
experiments, 1972, for the sequential construction).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.likelihood import departure_columns
from fleetcal.fleet.points import Array, FleetPoints, Index
from fleetcal.fleet.pooled import PooledFit
from fleetcal.fleet.sums import aircraft_sums


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
    """Choose the points of one sortie, one after another.

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
    order = len(covariance) - 1
    known = np.asarray(np.linalg.inv(covariance), dtype=np.float64)
    rows = curve_basis(grid, order)
    chosen: list[int] = []
    after = []
    for _ in range(count):
        tried = []
        for k in range(len(candidates)):
            flown = candidates[[*chosen, k]]
            deviation = _deviation(known + _information(flown, order, u_own, u_shared), rows)
            tried.append((float(np.max(deviation * scale)), float(np.sum(deviation * scale)), k))
        best = min(tried)[2]
        chosen.append(best)
        flown = candidates[chosen]
        after.append(_deviation(known + _information(flown, order, u_own, u_shared), rows))
    return PlannedPoints(np.array(chosen, dtype=np.int64), _deviation(known, rows), np.array(after))


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
