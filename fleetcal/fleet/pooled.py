"""The pooled fit of the groups of one type, and its two bands.

Each group has its own curve; the covariance D between aircraft is common to the groups of a
type, so that a small group borrows spread and not shape. Restricted likelihood over D = L
L' (all aircraft alike is then an ordinary point) and the factor phi on the variances gives
the curve.

The covariance of the points holds the errors of points and sorties. What an airframe owns,
such as its indicator's error, is left to the spread between airframes, which no data can
tell it from. Counted beside the spread instead, 1.7 kt stated and 0.3 kt true made bands up
to 1.8 times as wide and found one of ten off by 5 kt in 22 % of fleets instead of 62 %;
counted as drawn anew in each sortie, intervals of the port alone held in 81 to 91 %
(`python -m tests.fleet.simulations lasting`). So the next band holds other airframes'
instruments too, and an airframe may be outside by its indicator.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.averaged import AveragedFit, average_over_spread, curve_band
from fleetcal.fleet.bands import Band, Widening, moved_band
from fleetcal.fleet.basis import HIGHEST_ORDER, curve_basis, variance_along
from fleetcal.fleet.curve_departure import CurveDeparture
from fleetcal.fleet.descent import lowest_point
from fleetcal.fleet.enough_points import require_enough_aircraft, supported_order
from fleetcal.fleet.likelihood import (
    GroupSums,
    departure_columns,
    deviance_slope,
    group_sums,
    lower_triangle,
)
from fleetcal.fleet.other_groups import evidence_of_groups
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.search import (
    SMALLEST_GAIN,
    departure_scale,
    determined_without_each,
    first_guess,
    log_phi_limit,
    require_believed,
    require_determined,
    undetermined,
    within_reach,
)
from fleetcal.fleet.spread_grid import SpreadGrid, spread_grid
from fleetcal.fleet.spread_prior import SpreadPrior
from fleetcal.fleet.standing_out import naming_the_worst
from fleetcal.fleet.sums import AircraftSums, aircraft_sums


@dataclass(frozen=True)
class Learnt:
    """What other groups tell of the spread.

    Attributes:
        evidence (nodes,): -2 log restricted likelihood, at the factor of the fit.
    """

    grid: SpreadGrid
    evidence: Array


@dataclass(frozen=True, kw_only=True)
class PooledFit:
    """Restricted maximum-likelihood fit of the groups of one type.

    Attributes:
        order: Order of the curve in s.
        beta: Shape (groups, order + 1).
        spread (k, k): D, covariance of the aircraft's departures (level, tilt).
        phi: Factor found on the variances of the points, at least 1.
        sums: Of the order fitted.
        wider: One a group, or empty when the points were not held against the model.
        likely_alike, known: Prior of the spread, see `spread_grid`.
        common (groups, terms, p): By how much an error common to the fleet, one standard
            uncertainty large, shifts each curve; no terms when the points have none.
        bends (groups,), or None: Variance, in y, by which a curve that misses its points is
            doubted when aircraft are held against it.
        ports (order + 1, order + 1), or None: Information on every curve from what is known of
            ports, see `few_aircraft`.
        averaged_groups: How many groups, from the first, are averaged over the spread, which all
            tell; every one when None.
        learnt: What groups that are not among the sums tell of the spread, if others do.
    """

    order: int
    beta: Array
    spread: Array
    phi: float
    solved: GroupSums
    sums: AircraftSums
    wider: tuple[Widening, ...] = ()
    likely_alike: bool = False
    known: SpreadPrior | None = None
    common: Array | None = None
    bends: Array | None = None
    ports: Array | None = None
    averaged_groups: int | None = None
    learnt: Learnt | None = None

    def centre(self, group: int, x: Array) -> Array:
        """Return the group's curve of highest restricted likelihood.

        Args:
            x: Shape (n,).

        Returns:
            Shape (n,).
        """
        return np.asarray(curve_basis(x, self.order) @ self.beta[group])

    @cached_property
    def averaged(self) -> AveragedFit:
        """The fit averaged over what the data say of the spread."""
        size, learnt = len(self.spread), self.learnt
        if learnt is not None:
            all_groups = len(self.beta)
            return average_over_spread(
                self.sums, all_groups, learnt.grid, self.phi, others=learnt.evidence
            )
        grid = spread_grid(
            self.sums,
            size,
            self.phi,
            self.spread,
            likely_alike=self.likely_alike,
            known=self.known,
        )
        if self.averaged_groups is None:
            return average_over_spread(self.sums, len(self.beta), grid, self.phi, self.ports)
        own = self.sums.select(np.flatnonzero(self.sums.group_of < self.averaged_groups))
        rest = self.sums.select(np.flatnonzero(self.sums.group_of >= self.averaged_groups))
        others = evidence_of_groups(rest, grid.spread, self.phi)
        return average_over_spread(own, self.averaged_groups, grid, self.phi, others=others)

    def mean_band(self, group: int, x: Array, level: float = 0.95) -> Band:
        """Return where the mean curve of the group lies.

        Args:
            x (n,): s = (Vs/Viw)^2.
            level: Coverage.
        """
        return self._known_band("mean", group, x, level)

    def next_band(self, group: int, x: Array, level: float = 0.95) -> Band:
        """Return where the next aircraft of the group should lie.

        Args:
            x: Shape (n,).
        """
        return self._known_band("next", group, x, level)

    def mean_covariance(self, group: int) -> Array:
        """Return the covariance of a group's curve at every node.

        Returns:
            Shape (nodes, p, p): Widened as the checks ask, and by what is common to the fleet; what
            the mean may have beyond the curve is in `departure_square`.
        """
        common = self.common_shift(group)
        return self.apart_covariance(group) + common.T @ common

    def apart_covariance(self, group: int) -> Array:
        """As `mean_covariance`, without what is common to the fleet."""
        covariance = self.averaged.covariance[:, group]
        if not self.wider:
            return covariance
        return self.wider[group].factor * covariance + self.wider[group].added

    def departure(self, group: int) -> CurveDeparture | None:
        """Return how a group's mean departs from its curve, if points were held against it."""
        return self.wider[group].departure if self.wider else None

    def departure_square(self, group: int, x: Array) -> Array:
        """Return the mean square by which the mean departs from the curve, in y^2.

        Args:
            x: Shape (n,).

        Returns:
            Shape (n,): Zero when the points were not held against the model.
        """
        departure = self.departure(group)
        return np.zeros(len(x)) if departure is None else departure.mean_square(x)

    def common_shift(self, group: int) -> Array:
        """Return what each error common to the fleet does to a curve, shape (terms, p)."""
        return np.zeros((0, self.order + 1)) if self.common is None else self.common[group]

    @cached_property
    def _bands(self) -> dict[tuple[str, int, bytes, float], Band]:
        """Bands that were asked for: table, limits and airframes of a group ask the same again."""
        return {}

    def _known_band(self, of: str, group: int, x: Array, level: float) -> Band:
        key = (of, group, x.tobytes(), level)
        if key not in self._bands:
            between: Array | float = 0.0
            if of == "next":
                z = curve_basis(x, len(self.spread) - 1)
                between = variance_along(z, self.averaged.spread)
            self._bands[key] = self._band(group, x, between, level)
        return self._bands[key]

    def _band(self, group: int, x: Array, between: Array | float, level: float) -> Band:
        fit, departure = self.averaged, self.departure(group)
        basis = curve_basis(x, self.order)
        low, high = curve_band(
            fit.weight,
            fit.beta[:, group],
            self.mean_covariance(group),
            x=basis,
            level=level,
            extra=between + (0.0 if departure is None else departure.variance(x)),
        )
        band = Band(self.centre(group, x), low, high)
        return band if departure is None else moved_band(band, departure.shift(x))


def fit_fleet(points: FleetPoints, order: int | None = None) -> PooledFit:
    """Fit all groups of a type with one spread between aircraft.

    Args:
        order: Order of the curves; chosen by leave-one-aircraft-out error if None.

    Raises:
        FitError: If a group has fewer than three aircraft, or its points do not determine a curve
            or scatter beyond belief, or the order is not 0, 1 or 2.
    """
    require_enough_aircraft(points)
    full = aircraft_sums(points)
    if order is not None:
        if not 0 <= order <= HIGHEST_ORDER:
            raise FitError(
                f"a curve of order {order} is not offered",
                f"ask for an order of 0 to {HIGHEST_ORDER}",
            )
        with naming_the_worst(points):
            chosen = fit_sums(full.with_order(order), points.groups)
            require_believed(chosen.phi)
        return chosen
    tried = []
    for candidate in range(supported_order(points) + 1):
        with naming_the_worst(points):
            fit = fit_sums(full.with_order(candidate), points.groups)
        tried.append((left_out_score(fit), candidate, fit))
    chosen = min(tried, key=lambda t: (t[0], t[1]))[2]
    with naming_the_worst(points):
        require_believed(chosen.phi)  # an order too low for the curve may well be at the limit
    return chosen


def fit_sums(
    sums: AircraftSums,
    groups: int,
    start: Array | None = None,
    *,
    likely_alike: bool = False,
    known: SpreadPrior | None = None,
    averaged_groups: int | None = None,
) -> PooledFit:
    """Fit from per-aircraft sums at the order the sums carry.

    Args:
        start: Entries of L and log phi to start from.
        likely_alike: Whether the units are expected to be alike, as sorties are.
        known: What is known of the spread beforehand.
        averaged_groups: How many groups, from the first, will be averaged over the spread.

    Raises:
        FitError: If the points of a group do not determine its curve.
    """
    order = sums.products.shape[1] - 2
    size = departure_columns(order)
    entries = size * (size + 1) // 2
    require_determined(sums, groups)
    scale = departure_scale(sums, groups, size)

    def deviance(theta: Array) -> tuple[float, Array]:
        root = lower_triangle(theta[:-1] * scale, size)
        solved = group_sums(sums, root, float(np.exp(theta[-1])), groups)
        return solved.deviance, deviance_slope(sums, solved, root) * np.r_[scale, 1.0]

    first = first_guess(size) if start is None else within_reach(start / np.r_[scale, 1.0], size)
    low = np.r_[np.full(entries, -np.inf), 0.0]
    high = np.r_[np.full(entries, np.inf), log_phi_limit(sums, size)]
    try:
        theta = lowest_point(deviance, first, low, high, smallest_gain=SMALLEST_GAIN)
        root = lower_triangle(theta[:-1] * scale, size)
        phi = float(np.exp(theta[-1]))
        solved = group_sums(sums, root, phi, groups)
    except np.linalg.LinAlgError as error:
        raise undetermined() from error
    spread = root @ root.T
    return PooledFit(
        order=order,
        beta=solved.beta,
        spread=spread,
        phi=phi,
        solved=solved,
        sums=sums,
        likely_alike=likely_alike,
        known=known,
        averaged_groups=averaged_groups,
    )


def spread_root(spread: Array) -> Array:
    """Return L with L L' = D, also where D has no inverse.

    Args:
        spread (k, k): D.

    Returns:
        Shape (k, k): Lower triangular.
    """
    jitter = 1e-12 * np.eye(len(spread)) * max(float(np.trace(spread)), 1e-8)
    return np.asarray(np.linalg.cholesky(spread + jitter))


def fit_at(sums: AircraftSums, groups: int, spread: Array, phi: float) -> PooledFit:
    """Return the fit of sums at a spread and a factor that are known already.

    Args:
        sums: Of the order of the curve.
        spread: Shape (k, k).
    """
    solved = group_sums(sums, spread_root(spread), phi, groups)
    return PooledFit(
        order=sums.products.shape[1] - 2,
        beta=solved.beta,
        spread=spread,
        phi=phi,
        solved=solved,
        sums=sums,
    )


def search_start(fit: PooledFit) -> Array:
    """Return the point of the search at which a fit ended, to start a neighbour from."""
    root = spread_root(fit.spread)
    start: Array = np.r_[root[np.tril_indices(len(root))], np.log(fit.phi)]
    return start


def left_out_score(fit: PooledFit) -> float:
    """Return how badly each aircraft is predicted by the others, at the fit's own spread.

    Returns:
        -2 log predictive density summed over aircraft whose group keeps at least two others;
        smaller is better. Comparable between orders. Infinite where a curve depends on one
        aircraft alone.
    """
    if not determined_without_each(fit.sums, len(fit.beta)).all():
        return np.inf
    weighted, group_of = fit.solved.weighted, fit.sums.group_of
    x, right, square = weighted[:, :-1, :-1], weighted[:, :-1, -1], weighted[:, -1, -1]
    curve, beta_of_all = fit.solved.curve[group_of], fit.beta[group_of]
    rest = curve - x
    sign, log_det = np.linalg.slogdet(rest + x)
    rest_sign, rest_log_det = np.linalg.slogdet(rest)
    if np.any(sign <= 0) or np.any(rest_sign <= 0):
        return np.inf
    others = np.einsum("aij,aj->ai", curve, beta_of_all) - right
    beta = np.einsum("aij,aj->ai", np.linalg.pinv(rest), others)
    error = right - np.einsum("aij,aj->ai", x, beta)
    own = square + np.einsum("ai,ai->a", beta, np.einsum("aij,aj->ai", x, beta) - 2.0 * right)
    predicted = np.einsum("ai,ai->a", error, np.linalg.solve(rest + x, error[..., None])[..., 0])
    return float((own - predicted + log_det - rest_log_det).sum()) + _log_det_data(fit)


def _log_det_data(fit: PooledFit) -> float:
    """Return the sum of log det V, which the left-out score needs between orders."""
    curve = np.linalg.slogdet(fit.solved.curve)[1].sum()
    return float(fit.solved.deviance - curve - fit.solved.misfit.sum())
