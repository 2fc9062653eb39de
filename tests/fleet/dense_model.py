"""The fleet model written out with whole matrices: slow, plain, sharing nothing with the package.

y = X beta + Z b + e over all points at once, b ~ N(0, D) for each aircraft,
e ~ N(0, phi R), R = diag(u_own^2) plus one outer product a sortie and shared term.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import stats

from fleetcal.fleet.points import Array, FleetPoints


def error_covariance(points: FleetPoints) -> Array:
    """Return R."""
    covariance = np.diag(points.u_own**2)
    same = (points.sortie[:, None] == points.sortie) & (points.aircraft[:, None] == points.aircraft)
    for term in points.u_shared.T:
        covariance += np.where(same, np.outer(term, term), 0.0)
    return covariance


def curve_matrix(points: FleetPoints, order: int) -> Array:
    """Return X: the columns 1, t, t^2 of group 0, then of group 1 and so on."""
    t = points.x - 0.25
    group = points.group_of[points.aircraft]
    groups = int(points.group_of.max()) + 1
    return np.column_stack(
        [np.where(group == g, t**power, 0.0) for g in range(groups) for power in range(order + 1)]
    )


def departure_covariance(points: FleetPoints, spread: Array) -> Array:
    """Return Z D Z'."""
    z = np.column_stack([(points.x - 0.25) ** power for power in range(len(spread))])
    same = points.aircraft[:, None] == points.aircraft
    return np.where(same, z @ spread @ z.T, 0.0)


@dataclass(frozen=True, kw_only=True)
class DenseFit:
    """Generalised least squares with a known V."""

    x: Array
    v: Array
    beta: Array
    covariance: Array
    deviance: float


def dense_fit(points: FleetPoints, order: int, spread: Array, phi: float) -> DenseFit:
    """Return the restricted-likelihood quantities at one D and phi."""
    x = curve_matrix(points, order)
    v = phi * error_covariance(points) + departure_covariance(points, spread)
    inverse = np.linalg.inv(v)
    covariance = np.linalg.inv(x.T @ inverse @ x)
    beta = covariance @ x.T @ inverse @ points.y
    residual = points.y - x @ beta
    deviance = (
        np.linalg.slogdet(v)[1] - np.linalg.slogdet(covariance)[1] + residual @ inverse @ residual
    )
    return DenseFit(
        x=x, v=v, beta=beta, covariance=np.asarray(covariance), deviance=float(deviance)
    )


@dataclass(frozen=True)
class DensePosterior:
    """What the points say of D: nodes of a fine grid with weights that sum to 1."""

    weight: Array
    spread: list[Array]
    fits: list[DenseFit]

    def mean_of(self, values: Sequence[npt.ArrayLike]) -> Array:
        """Return the weighted mean of one value a node."""
        return np.asarray(np.tensordot(self.weight, np.array(values), axes=1))


def dense_posterior(
    points: FleetPoints, order: int, phi: float, scale: Array, nodes: int = 24
) -> DensePosterior:
    """Return the posterior of D under a Jeffreys-type prior of each standard deviation.

    The prior of a standard deviation s is s sqrt(sum of (v + s^2)^-2) over the
    aircraft, v being the variance of its own coefficient; that of the
    correlation is flat. Logarithmic steps around `scale`, trapezoidal weights.
    """
    k = min(2, order + 1)
    variance = _own_variances(points, phi, k)
    axes = [scale[j] * np.geomspace(0.01, 25.0, nodes) for j in range(k)]
    priors = [
        axis**2 * np.sqrt(((variance[:, j] + axis[:, None] ** 2) ** -2.0).sum(axis=1))
        for j, axis in enumerate(axes)
    ]
    spread, log_weight, fits = [], [], []
    rhos = np.linspace(-0.9, 0.9, 10) if k == 2 else [0.0]
    for index in np.ndindex(*(len(axis) for axis in axes)):
        sd = np.array([axes[j][i] for j, i in enumerate(index)])
        log_prior = sum(np.log(priors[j][i]) for j, i in enumerate(index))
        for rho in rhos:
            correlation = np.array([[1.0, rho], [rho, 1.0]])[:k, :k]
            spread.append(correlation * np.outer(sd, sd))
            fits.append(dense_fit(points, order, spread[-1], phi))
            log_weight.append(log_prior - fits[-1].deviance / 2.0)
    weight = np.exp(np.array(log_weight) - max(log_weight))
    return DensePosterior(weight / weight.sum(), spread, fits)


def _own_variances(points: FleetPoints, phi: float, k: int) -> Array:
    r = phi * error_covariance(points)
    rows = []
    for plane in np.unique(points.aircraft):
        mine = points.aircraft == plane
        z = (points.x[mine] - 0.25)[:, None] ** np.arange(k)
        own = z.T @ np.linalg.solve(r[np.ix_(mine, mine)], z)
        rows.append(np.diag(np.linalg.inv(own)))
    return np.array(rows)


def dense_standing(
    points: FleetPoints, plane: int, rest: DensePosterior, phi: float, columns: int
) -> tuple[Array, float]:
    """Return an aircraft's mean departure from the rest, and its averaged tail chance."""
    mine = points.aircraft == plane
    t = points.x[mine] - 0.25
    k, order = len(rest.spread[0]), rest.fits[0].x.shape[1] - 1
    z, whole = t[:, None] ** np.arange(columns), t[:, None] ** np.arange(k)
    x = t[:, None] ** np.arange(order + 1)
    weight = np.linalg.inv(phi * error_covariance(points)[np.ix_(mine, mine)])
    own = np.linalg.inv(z.T @ weight @ z)
    take = own @ z.T @ weight
    departures, tails = [], []
    for spread, fit in zip(rest.spread, rest.fits, strict=True):
        departure = take @ (points.y[mine] - x @ fit.beta)
        allowed = take @ (x @ fit.covariance @ x.T + whole @ spread @ whole.T) @ take.T + own
        departures.append(departure)
        reach = np.linspace(t.min(), t.max(), 200)[:, None] ** np.arange(float(columns))
        tails.append(_chance_of_so_far(departure, allowed, reach))
    return rest.mean_of(departures), float(rest.mean_of(tails))


def _chance_of_so_far(departure: Array, allowed: Array, reach: Array) -> float:
    """Return the chance that a departure is as many deviations off at any row of `reach`.

    By brute force: all rows, and all directions in which departures may lie.
    """
    ratio = np.max(np.abs(reach @ departure) / np.sqrt(np.sum(reach @ allowed * reach, axis=1)))
    if len(departure) == 1:
        return float(2.0 * stats.norm.sf(ratio))
    arms = reach @ np.linalg.cholesky(allowed)
    arms /= np.linalg.norm(arms, axis=1)[:, None]
    angle = np.linspace(0.0, np.pi, 721)[:-1]
    shadow = np.max(np.abs(arms @ np.stack([np.cos(angle), np.sin(angle)])), axis=0)
    return float(np.mean(np.exp(-((ratio / np.maximum(shadow, 1e-9)) ** 2) / 2.0)))
