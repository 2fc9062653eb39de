"""An aircraft's own curve: what its own points say, joined with what is known beforehand.

Beforehand an aircraft is known as one more of its group, or, where there is no group, as any port
is (`port_prior`). Its own points then count by generalised least squares with the covariance of
their errors; the two are joined as a prior and a likelihood (A. Gelman, J. Carlin, H. Stern, D.
Rubin, Bayesian Data Analysis (2004), 14.8, from memory), at every node of the spread between
aircraft, so that what is not known of the spread is in the band. Where the aircraft has flown
nothing the answer is the group's; far from the speeds flown it falls back on that.

What the curve of an aircraft has beyond a quadratic goes through the same sums as a walk over
the logarithm of speed, so that between the speeds flown the band is as wide as that allows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy import special

from fleetcal.fleet.averaged import mixture_band
from fleetcal.fleet.bands import Band
from fleetcal.fleet.basis import curve_basis, variance_along
from fleetcal.fleet.curve_departure import CurveDeparture
from fleetcal.fleet.model_checks import SCATTER_LEVEL
from fleetcal.fleet.points import Array


@dataclass(frozen=True, kw_only=True)
class Beforehand:
    """What is known of an aircraft's curve before its own points count.

    Attributes:
        weight (nodes,): Of what may be true of the spread.
        beta: Shape (nodes, p).
        covariance (nodes, p, p): With the spread between aircraft.
        departures: What the curve may have beyond the polynomial.
        counted: Whether the weights already count the aircraft's own points.
    """

    weight: Array
    beta: Array
    covariance: Array
    departures: tuple[CurveDeparture, ...]
    counted: bool = False

    @property
    def order(self) -> int:
        """Of the polynomial."""
        return int(self.beta.shape[1]) - 1


@dataclass(frozen=True, kw_only=True)
class OwnPoints:
    """The points of one aircraft.

    Attributes:
        x, y (n,): As in `FleetPoints`.
        errors (n, n): Covariance of the errors of points and sorties.
        lasting (n, terms): Signed terms of one unknown value for all points that are not part of
            the curve sought. They are carried through and have no part in the weights: weights
            that lean on how such an error shows in one flight more than in another moved curves
            by 0.25 kt after twenty flights.
    """

    x: Array
    y: Array
    errors: Array
    lasting: Array


@dataclass(frozen=True, kw_only=True)
class AircraftCurve:
    """An aircraft's own curve.

    Attributes:
        parts: What may be true of the departures from a polynomial, one after the other.
        weight (parts * nodes,): Of each, summing to 1.
        scatter: Factor by which the uncertainties of its points were widened, 1 or more.
    """

    parts: tuple[_Seen, ...]
    weight: Array
    scatter: float

    @property
    def order(self) -> int:
        """Of the polynomial that the curve departs from."""
        return self.parts[0].before.order

    def band(self, x: Array, level: float = 0.95) -> Band:
        """Return where the aircraft's own curve lies.

        Args:
            x: Shape (n,).
            level: Coverage.
        """
        found = [part.at_nodes(x) for part in self.parts]
        mean, deviation = (np.concatenate(one) for one in zip(*found, strict=True))
        low, high = mixture_band(self.weight, mean, deviation, level)
        return Band(np.asarray(self.weight @ mean), low, high)

    def covariance(self, x: Array) -> Array:
        """Return the covariance of the curve between places, without the errors that last.

        Args:
            x: Shape (n,).

        Returns:
            Shape (n, n).
        """
        away = np.concatenate([part.at_nodes(x)[0] for part in self.parts]) - self.centre(x)
        total = away.T @ (self.weight[:, None] * away)
        for part, weight in zip(self.parts, self.weights(), strict=True):
            total = total + part.within(x, weight)
        return np.asarray(total)

    def weights(self) -> list[Array]:
        """Return the weights of the nodes of each part."""
        ends = np.cumsum([len(part.log_weight) for part in self.parts])
        return np.split(self.weight, ends[:-1])

    def centre(self, x: Array) -> Array:
        """Return the curve itself, shape (n,)."""
        ends = np.cumsum([len(part.beta) for part in self.parts])[:-1]
        weights = np.split(self.weight, ends)
        means = (part.mean_at(x, own) for part, own in zip(self.parts, weights, strict=True))
        return np.asarray(sum(means))


def own_curve(before: Sequence[Beforehand], own: OwnPoints) -> AircraftCurve:
    """Join an aircraft's own points with what is known beforehand.

    Args:
        before: Several where the departures from a polynomial may be small or large, with weights
            that sum to 1 together.
        own: May be none.
    """
    scatter = own_scatter(own, before[0].order)
    widened = replace(own, errors=scatter**2 * own.errors)
    parts = tuple(_seen(one, widened) for one in before)
    log_weight = np.concatenate([part.log_weight for part in parts])
    weight = np.exp(log_weight - log_weight.max())
    return AircraftCurve(parts=parts, weight=weight / weight.sum(), scatter=scatter)


@dataclass(frozen=True, kw_only=True)
class _Seen:
    """The coefficients after the aircraft's points were seen, at every node.

    Attributes:
        log_weight (nodes,): Of each node, without a common constant.
        lasting (nodes, p, terms): What the lasting errors do to them.
    """

    before: Beforehand
    own: OwnPoints
    log_weight: Array
    basis: Array
    inverse: Array
    y: Array
    beta: Array
    covariance: Array
    lasting: Array

    def mean_at(self, x: Array, weight: Array) -> Array:
        """Return the mean of the curve over the nodes, shape (n,), times the sum of their weights.

        Args:
            weight (nodes,): Of the nodes.
        """
        departures = self.before.departures
        gain = _across(departures, x, self.own.x) @ self.inverse
        rows = curve_basis(x, self.before.order) - gain @ self.basis
        same = _shift(departures, x) + gain @ self.y
        return np.asarray(rows @ (weight @ self.beta) + weight.sum() * same)

    def at_nodes(self, x: Array) -> tuple[Array, Array]:
        """Return mean and standard deviation of the curve at every node, shapes (nodes, n)."""
        departures = self.before.departures
        across = _across(departures, x, self.own.x)
        gain = across @ self.inverse
        rows = curve_basis(x, self.before.order) - gain @ self.basis
        extra = _variance(departures, x) - np.sum(gain * across, axis=1)
        variance = variance_along(rows, self.covariance)
        moved = rows @ self.lasting + gain @ self.own.lasting
        square = variance + np.maximum(extra, 0.0) + np.sum(moved**2, axis=2)
        mean = self.beta @ rows.T + _shift(departures, x) + gain @ self.y
        return mean, np.sqrt(np.maximum(square, 0.0))

    def within(self, x: Array, weight: Array) -> Array:
        """Return the covariance of the curve between places at the nodes, weighted, (n, n)."""
        departures = self.before.departures
        across = _across(departures, x, self.own.x)
        gain = across @ self.inverse
        rows = curve_basis(x, self.before.order) - gain @ self.basis
        coefficients = np.einsum("n,nij->ij", weight, self.covariance)
        beyond = _across(departures, x, x) - gain @ across.T
        return np.asarray(rows @ coefficients @ rows.T + weight.sum() * beyond)


def _seen(before: Beforehand, own: OwnPoints) -> _Seen:
    basis = curve_basis(own.x, before.order)
    total = own.errors + _across(before.departures, own.x, own.x)
    inverse = np.asarray(np.linalg.inv(total), dtype=np.float64)
    y = own.y - _shift(before.departures, own.x)
    certain = np.linalg.inv(before.covariance)
    together = certain + basis.T @ inverse @ basis
    covariance = np.asarray(np.linalg.inv(together), dtype=np.float64)
    right = np.einsum("nij,nj->ni", certain, before.beta) + basis.T @ inverse @ y
    log_weight = np.log(before.weight)
    if not before.counted:
        away = y - before.beta @ basis.T
        between = total + basis @ before.covariance @ basis.T
        square = np.sum(away * np.linalg.solve(between, away[..., None])[..., 0], axis=1)
        log_weight = log_weight - 0.5 * (square + np.linalg.slogdet(between)[1])
    return _Seen(
        before=before,
        own=own,
        log_weight=log_weight,
        basis=basis,
        inverse=inverse,
        y=y,
        beta=np.einsum("nij,nj->ni", covariance, right),
        covariance=covariance,
        lasting=covariance @ (basis.T @ inverse @ own.lasting),
    )


def own_scatter(own: OwnPoints, order: int) -> float:
    """Return the factor by which points scatter about their own curve more than they state.

    Returns:
        1 unless the scatter is larger than by chance in one case in a hundred.
    """
    if not len(own.x):  # which older numpy gives no rank
        return 1.0
    basis = curve_basis(own.x, order)
    free = len(own.x) - int(np.linalg.matrix_rank(basis))
    if free <= 0:
        return 1.0
    root = np.linalg.cholesky(own.errors)
    white = np.linalg.solve(root, np.column_stack([basis, own.y]))
    fitted = np.linalg.lstsq(white[:, :-1], white[:, -1])[0]
    square = float(np.sum((white[:, -1] - white[:, :-1] @ fitted) ** 2))
    if special.chdtrc(free, square) >= SCATTER_LEVEL:
        return 1.0
    return float(np.sqrt(max(square / free, 1.0)))


def _shift(departures: Sequence[CurveDeparture], x: Array) -> Array:
    return np.asarray(sum((one.shift(x) for one in departures), np.zeros(len(x))))


def _variance(departures: Sequence[CurveDeparture], x: Array) -> Array:
    return np.asarray(sum((one.variance(x) for one in departures), np.zeros(len(x))))


def _across(departures: Sequence[CurveDeparture], x: Array, others: Array) -> Array:
    """Return the covariance of the departures at x with those at others."""
    none = np.zeros((len(x), len(others)))
    parts = (one.rows(x) @ one.covariance @ one.rows(others).T for one in departures)
    return np.asarray(sum(parts, none))
