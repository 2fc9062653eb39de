"""The flights of one airframe as sums, at every scatter that they may have.

Model of flight i: y = X beta + T g + Z a_i + steps + e_i. X is the curve of the airframe (1, t,
t^2); T g are the errors that the airframe and the fleet own, one unknown value each for all
flights, so that they fall out of a comparison of flights but for their different weight at
different speeds and temperatures; a_i is what the day adds in level and tilt, a_i ~ N(0, tau^2
diag(1, 4)); e_i ~ N(0, phi R_i) with R_i the errors of the points and of the flight that are
stated. Each pair of tau and phi is a node, and what is asked of the flights is averaged over the
nodes by restricted likelihood and prior, so that few flights do not pass for many.

Priors, ours by common practice: tau half-t with four degrees of freedom and scale 0.5 kt at
100 kt (kappa 0.01), worth about four flights; phi at or above 1, falling as its square; level of
the curve of standard deviation 1 in kappa and its other coefficients 0.5, which is next to
nothing. Source: Harville, JASA 72 (1977); A. Gelman, Prior distributions for variance parameters
in hierarchical models, Bayesian Analysis 1 (2006), for the half-t.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final, NamedTuple

import numpy as np

from fleetcal.fleet.basis import HIGHEST_ORDER, curve_basis
from fleetcal.fleet.likelihood import weigh
from fleetcal.fleet.points import Array, FleetPoints, Index
from fleetcal.fleet.sums import AircraftSums

#: Scale and degrees of freedom of the prior of tau, in kappa.
SCATTER_SCALE: Final = 0.01
SCATTER_FREEDOM: Final = 4.0
_SCATTERS: Final = np.r_[0.0, np.geomspace(0.0015, 0.15, 17)]
_FACTORS: Final = np.geomspace(1.0, 6.0, 5)
#: Standard deviations of level and tilt of a day, over tau: an error of so many knots has such.
_DAY_SHAPE: Final = np.array([1.0, 2.0])
_CURVE_PRECISION: Final = np.array([1.0, 4.0, 4.0])


class Extra(NamedTuple):
    """A column beyond the curve: level (0) or tilt (1) of the flights from `start` to `stop`."""

    start: int
    stop: int
    column: int = 0
    precision: float = 1.0


@dataclass(frozen=True, kw_only=True)
class FlightSums:
    """Sums over the first flights of a series.

    Attributes:
        total (nodes, flights + 1, q + 1, q + 1): Running W'V^-1W with W = [X, T, y].
        log_det (nodes, flights + 1): Running log det V.
        prior (nodes,): Log weight of each node before any flight.
        precision (q,): Prior precision of the coefficients.
        scatter (nodes,): tau.
        factor (nodes,): phi.
        alone (flights,): Standard uncertainty of the level of each flight by its own errors.
    """

    total: Array
    log_det: Array
    prior: Array
    precision: Array
    scatter: Array
    factor: Array
    alone: Array

    @property
    def flights(self) -> int:
        """Number of flights."""
        return int(self.total.shape[1]) - 1


@dataclass(frozen=True, kw_only=True)
class SolvedFlights:
    """Coefficients of curve, common errors and steps, by the first flights, at every node.

    Attributes:
        flights: How many.
        extras: Columns after curve and common errors.
        covariance (nodes, p, p): Of the coefficients.
        mean: Shape (nodes, p).
        log_weight (nodes,): Log of prior times restricted likelihood, without a constant.
    """

    flights: int
    extras: tuple[Extra, ...]
    covariance: Array
    mean: Array
    log_weight: Array

    @property
    def weight(self) -> Array:
        """Weights of the nodes (nodes,), which add up to one."""
        return normalised(self.log_weight)


@dataclass(frozen=True, kw_only=True)
class Tried:
    """A level of its own for each of several stretches of flights, one at a time.

    Attributes:
        size (stretches, nodes): Of the level.
        variance: Shape (stretches, nodes).
        log_weight (stretches, nodes): As in `SolvedFlights`, with that level.
    """

    size: Array
    variance: Array
    log_weight: Array

    @property
    def weight(self) -> Array:
        """Weights of the nodes (stretches, nodes) for each stretch."""
        return normalised(self.log_weight)


def normalised(log_weight: Array) -> Array:
    """Return weights that add up to one along the last axis."""
    weight = np.exp(log_weight - log_weight.max(axis=-1, keepdims=True))
    return np.asarray(weight / weight.sum(axis=-1, keepdims=True))


def flight_sums(points: FleetPoints) -> FlightSums:
    """Return the sums of a series of flights.

    Args:
        points: Of one airframe; its "aircraft" are the flights in their order.
    """
    terms = np.c_[points.u_airframe, points.u_fleet]
    columns = np.c_[curve_basis(points.x, HIGHEST_ORDER), terms, points.y]
    rows_of = points.rows_by_aircraft()
    single = _each_flight(points, columns, rows_of)
    nodes = list(product(_SCATTERS, _FACTORS))
    weighed = [weigh(single, tau * np.diag(_DAY_SHAPE), phi) for tau, phi in nodes]
    products = np.stack([one for one, _ in weighed])
    log_det = np.stack([one for _, one in weighed])
    scatter, factor = np.array(nodes).T
    return FlightSums(
        total=np.pad(np.cumsum(products, axis=1), ((0, 0), (1, 0), (0, 0), (0, 0))),
        log_det=np.pad(np.cumsum(log_det, axis=1), ((0, 0), (1, 0))),
        prior=_prior(scatter, factor),
        precision=np.r_[_CURVE_PRECISION, np.ones(terms.shape[1])],
        scatter=scatter,
        factor=factor,
        alone=1.0 / np.sqrt(single.products[:, 0, 0]),
    )


def _each_flight(points: FleetPoints, columns: Array, rows_of: Sequence[Index]) -> AircraftSums:
    """Return W'R^-1W and log det R of each flight."""
    products, log_det = [], []
    for rows in rows_of:
        covariance, own = points.error_covariance(rows), columns[rows]
        products.append(own.T @ np.linalg.solve(covariance, own))
        log_det.append(np.linalg.slogdet(covariance)[1])
    flights = len(rows_of)
    return AircraftSums(
        products=np.array(products),
        log_det=np.array(log_det),
        count=np.array([len(rows) for rows in rows_of], dtype=np.int64),
        group_of=np.zeros(flights, dtype=np.int64),
        reach=np.zeros((flights, 2)),
    )


def _prior(scatter: Array, factor: Array) -> Array:
    """Return the log of the prior weight of each node; factors are equally far apart in log."""
    edges = np.r_[0.0, np.sqrt(_SCATTERS[1:-1] * _SCATTERS[2:])]
    width = np.diff(np.r_[edges[:1], 0.5 * (_SCATTERS[1]), edges[1:], _SCATTERS[-1]])
    ratio = (scatter / SCATTER_SCALE) ** 2 / SCATTER_FREEDOM
    density = -0.5 * (SCATTER_FREEDOM + 1.0) * np.log1p(ratio)
    return np.asarray(density + np.log(np.repeat(width, len(_FACTORS))) - 2.0 * np.log(factor))


def solve(sums: FlightSums, flights: int, extras: Sequence[Extra] = ()) -> SolvedFlights:
    """Return curve, common errors and extra columns by the first flights."""
    left, right, square = _normal(sums, flights, extras)
    covariance = np.linalg.inv(left)
    mean = np.einsum("nij,nj->ni", covariance, right)
    misfit = square - np.einsum("ni,ni->n", right, mean)
    log_det = sums.log_det[:, flights] + np.linalg.slogdet(left)[1]
    return SolvedFlights(
        flights=flights,
        extras=tuple(extras),
        covariance=np.asarray(covariance, dtype=np.float64),
        mean=mean,
        log_weight=sums.prior - (log_det + misfit) / 2.0,
    )


def try_levels(sums: FlightSums, solved: SolvedFlights, stretches: Sequence[Extra]) -> Tried:
    """Add a level for each stretch of flights, one at a time.

    Args:
        stretches: Each with a start before the last flight of `solved`.
    """
    q = len(sums.precision)
    own = np.stack([_span(sums, one.start, min(one.stop, solved.flights)) for one in stretches])
    met = [
        [_overlap(sums, solved.flights, one, extra) for extra in solved.extras] for one in stretches
    ]
    columns = np.array([one.column for one in stretches])
    place = np.arange(len(stretches))
    rows = own[place, :, columns]
    cross = rows[..., :q]
    if solved.extras:
        cross = np.concatenate([cross, np.moveaxis(np.array(met), 1, 2)], axis=2)
    reached = np.einsum("snj,nji->sni", cross, solved.covariance)
    precision = np.array([one.precision for one in stretches])
    left = own[place, :, columns, columns] + precision[:, None] - np.sum(reached * cross, axis=2)
    right = rows[..., q] - np.einsum("snj,nj->sn", cross, solved.mean)
    return Tried(
        size=right / left,
        variance=1.0 / left,
        log_weight=solved.log_weight + (right**2 / left - np.log(left)) / 2.0,
    )


def _span(sums: FlightSums, start: int, stop: int) -> Array:
    """Return the sums over some flights, shape (nodes, q + 1, q + 1)."""
    return np.asarray(sums.total[:, stop] - sums.total[:, start])


def _overlap(sums: FlightSums, flights: int, one: Extra, other: Extra) -> Array:
    start, stop = max(one.start, other.start), min(one.stop, other.stop, flights)
    both = sums.total[:, max(stop, start)] - sums.total[:, start]
    return np.asarray(both[:, one.column, other.column])


def _normal(sums: FlightSums, flights: int, extras: Sequence[Extra]) -> tuple[Array, Array, Array]:
    """Return left-hand and right-hand sides of the normal equations, and y'V^-1y."""
    q, size = len(sums.precision), len(sums.precision) + len(extras)
    total = sums.total[:, flights]
    left, right = np.zeros((len(total), size, size)), np.zeros((len(total), size))
    left[:, :q, :q] = total[:, :q, :q] + np.diag(sums.precision)
    right[:, :q] = total[:, :q, q]
    for i, one in enumerate(extras, q):
        own = _span(sums, one.start, min(one.stop, flights))[:, one.column]
        left[:, i, :q] = left[:, :q, i] = own[:, :q]
        right[:, i] = own[:, q]
        for j, other in enumerate(extras, q):
            left[:, i, j] = _overlap(sums, flights, one, other) + (one.precision if i == j else 0.0)
    return left, right, total[:, q, q]
