"""Where one aircraft stands against the others of its group.

The aircraft is left out, the rest is fitted, and its departure in level and
tilt is compared with what the spread between aircraft, the uncertainty of the
curve and its own uncertainty allow (Hotelling's T squared referred to F).
Flags hold the family-wise error rate over all aircraft judged together: S.
Holm, A simple sequentially rejective multiple test procedure, Scandinavian
Journal of Statistics 6 (1979).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import stats

from fleetcal.errors import FitError
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.pooled import PooledFit, fit_sums, search_start
from fleetcal.fleet.sums import AircraftSums, aircraft_sums

#: Fewest aircraft in a group for a verdict on one of them.
FEWEST_FOR_VERDICT: Final = 4


@dataclass(frozen=True)
class Standing:
    """One aircraft against the rest of its group.

    Attributes
    ----------
    aircraft : int
    departure : ndarray, shape (k,)
        Level and tilt by which the aircraft differs from the rest; shorter when
        its speeds do not determine a tilt.
    covariance : ndarray, shape (k, k)
        Of the departure as measured: own points and the curve of the rest.
    t_squared : float
        Against covariance plus spread between aircraft.
    degrees_of_freedom : float
        Of the denominator.
    p_value : float
        For this aircraft alone; NaN when no verdict is possible.
    others : int
        Aircraft it was compared with.
    """

    aircraft: int
    departure: Array
    covariance: Array
    t_squared: float
    degrees_of_freedom: float
    p_value: float
    others: int


def standing_of(
    points: FleetPoints, aircraft: int, fit: PooledFit, suspects: frozenset[int] = frozenset()
) -> Standing:
    """Judge one aircraft against the others.

    Parameters
    ----------
    points : FleetPoints
    aircraft : int
    fit : PooledFit
        Of all aircraft, for the order of the curve and the start of the search.
    suspects : frozenset of int
        Aircraft not to be compared with either.

    Returns
    -------
    Standing
        With NaN for the p-value when fewer than four aircraft, this one
        included, are left in its group, or the others determine no curve.
    """
    return _judge(aircraft_sums(points).with_order(fit.order), points, aircraft, fit, suspects)


def all_standings(
    points: FleetPoints, fit: PooledFit, suspects: frozenset[int] = frozenset()
) -> tuple[Standing, ...]:
    """Judge every aircraft against the others that are not suspect.

    Parameters
    ----------
    points : FleetPoints
    fit : PooledFit
    suspects : frozenset of int

    Returns
    -------
    tuple of Standing
        In the order of the aircraft.
    """
    sums = aircraft_sums(points).with_order(fit.order)
    return tuple(_judge(sums, points, a, fit, suspects) for a in range(len(points.group_of)))


def holm(p_values: Sequence[float]) -> Array:
    """Return p-values adjusted for having looked at all of them.

    Parameters
    ----------
    p_values : sequence of float
        NaN stands for no verdict and is not counted.

    Returns
    -------
    ndarray
        Holm's adjusted values, NaN where NaN was given.
    """
    values = np.asarray(p_values, dtype=np.float64)
    adjusted = np.full(len(values), np.nan)
    known = np.flatnonzero(np.isfinite(values))
    ordered = known[np.argsort(values[known], kind="stable")]
    factors = len(ordered) - np.arange(len(ordered))
    adjusted[ordered] = np.minimum(np.maximum.accumulate(factors * values[ordered]), 1.0)
    return adjusted


def _judge(
    sums: AircraftSums,
    points: FleetPoints,
    aircraft: int,
    fit: PooledFit,
    suspects: frozenset[int],
) -> Standing:
    group = int(points.group_of[aircraft])
    gone = suspects | {aircraft}
    others = np.array([a for a in range(len(points.group_of)) if a not in gone], dtype=np.int64)
    comrades = int(np.sum(points.group_of[others] == group))
    empty = np.zeros(0)
    none = Standing(aircraft, empty, np.zeros((0, 0)), np.nan, np.nan, np.nan, comrades)
    if comrades < FEWEST_FOR_VERDICT - 1:
        return none
    try:
        rest, group_in_rest = _fit_rest(sums.select(others), group, search_start(fit))
    except FitError:  # the curve hangs on this aircraft alone
        return none
    return _compare(sums, aircraft, rest, group_in_rest, comrades)


def _fit_rest(sums: AircraftSums, group: int, start: Array) -> tuple[PooledFit, int]:
    """Fit the others; groups that lost all their aircraft drop out of the numbering."""
    present = np.unique(sums.group_of)
    renumbered = np.searchsorted(present, sums.group_of)
    again = AircraftSums(sums.products, sums.log_det, sums.count, renumbered)
    return fit_sums(again, len(present), start), int(np.searchsorted(present, group))


def _compare(
    sums: AircraftSums, aircraft: int, rest: PooledFit, group: int, comrades: int
) -> Standing:
    products = sums.products[aircraft] / rest.phi
    size = _determined(products[: len(rest.spread), : len(rest.spread)])
    own = np.linalg.inv(products[:size, :size])
    projection = own @ products[:size, :-1]
    departure = own @ products[:size, -1] - projection @ rest.beta[group]
    measured = own + projection @ rest.small.covariance[group] @ projection.T
    own_part = projection[:, : len(rest.spread)]
    total = measured + own_part @ rest.spread @ own_part.T
    t_squared = float(departure @ np.linalg.solve(total, departure))
    freedom = _freedom(rest, group, projection, total)
    p_value = _hotelling_tail(t_squared, size, freedom)
    return Standing(aircraft, departure, measured, t_squared, freedom, p_value, comrades)


def _determined(products: Array) -> int:
    """Return how many departure coefficients the aircraft's own points determine."""
    if len(products) == 1:
        return 1
    correlation = products[0, 1] ** 2 / (products[0, 0] * products[1, 1])
    return 2 if np.isfinite(correlation) and correlation < 1.0 - 1e-9 else 1


def _freedom(rest: PooledFit, group: int, projection: Array, total: Array) -> float:
    """Return the smallest degrees of freedom over the principal directions of `total`."""
    values, axes = np.linalg.eigh(total)
    found = []
    for value, axis in zip(values, axes.T, strict=True):
        x = projection.T @ axis
        gradient = rest.small.mean_gradient(group, x)
        gradient = gradient + rest.small.spread_gradient(x[: len(rest.spread)])
        found.append(rest.small.degrees_of_freedom(float(value), gradient))
    return min(found)


def _hotelling_tail(t_squared: float, size: int, freedom: float) -> float:
    if np.isinf(freedom):
        return float(stats.chi2.sf(t_squared, size))
    spare = max(freedom - size + 1.0, 0.5)
    return float(stats.f.sf(t_squared * spare / (freedom * size), size, spare))
