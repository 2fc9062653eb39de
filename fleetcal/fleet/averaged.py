"""The pooled fit averaged over what the data say of the spread.

At every node of `spread_grid` the groups have their generalised least-squares
solution; the nodes are weighted by restricted likelihood and prior. Curves and
predictions are then mixtures of normal distributions, whose quantiles are the
bands. Leaving an aircraft out means taking its sums away at every node, so all
aircraft are judged without fitting anything again.

Putting the best D in the place of all gave a band for the next aircraft that held nearly
always where it says 95 %, because Satterthwaite's degrees of freedom fall to one near D =
0. Where classical answers are exact the averages give them: Student's t for one coefficient
to three digits.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from fleetcal.fleet.basis import variance_along
from fleetcal.fleet.node_sums import (
    join_blocks,
    node_determinants,
    node_pieces,
    shared_pieces,
    summed_pieces,
)
from fleetcal.fleet.points import Array, Index
from fleetcal.fleet.spread_grid import SpreadGrid
from fleetcal.fleet.sums import AircraftSums

#: Nodes with less than this share of the heaviest node's weight are left out. Leaving
#: out one odd aircraft can raise a node's share by very much, so the limit is far down.
_NEGLIGIBLE: Final = 1e-80
_CHUNK_BYTES: Final = 48_000_000
#: Share of the weight that quantiles do without: no digit shows it; and that their search begins
#: without, for so many rounds.
_UNSEEN_WEIGHT: Final = 1e-12
_UNSEEN_AT_FIRST: Final = 1e-6
_ROUNDS_AT_FIRST: Final = 4
_MOST_ROUNDS: Final = 120
#: Step, as a share of the smallest deviation, after which a search ends.
_LAST_STEP: Final = 1e-3
_ROOT_OF_TWO_PI: Final = float(np.sqrt(2.0 * np.pi))


@dataclass(frozen=True, kw_only=True)
class AveragedFit:
    """Solution of every group at every node.

    Attributes:
        weight (nodes,): Posterior weights, summing to 1.
        spread (nodes, k, k): D.
        log_prior: Shape (nodes,).
        total (nodes, groups, p + 1, p + 1): W'V^-1W summed over the aircraft of a group.
        log_det (nodes,): log det V summed over all aircraft, and the evidence of groups whose
            curves are not here.
        beta: Shape (nodes, groups, p).
        covariance: Shape (nodes, groups, p, p).
    """

    weight: Array
    spread: Array
    log_prior: Array
    phi: float
    total: Array
    log_det: Array
    beta: Array
    covariance: Array

    def mean_beta(self) -> Array:
        """Return the curve of each group averaged over the nodes, shape (groups, p)."""
        beta: Array = np.einsum("n,ngi->gi", self.weight, self.beta)
        return beta

    def mean_spread(self) -> Array:
        """Return D averaged over the nodes, shape (k, k)."""
        spread: Array = np.einsum("n,nij->ij", self.weight, self.spread)
        return spread


def weigh_at_nodes(sums: AircraftSums, spread: Array, phi: float) -> tuple[Array, Array]:
    """Return W'V^-1W and log det V of each aircraft at many D.

    Args:
        spread: Shape (nodes, k, k).

    Returns:
        Shapes (nodes, aircraft, p + 1, p + 1) and (nodes, aircraft).
    """
    k = spread.shape[1]
    products = sums.products / phi
    determinant = node_determinants(products, spread)
    pieces = shared_pieces(node_pieces(products, k), 1.0 / determinant)
    weighted = join_blocks(products[:, k:, k:], pieces, spread[:, None])
    return weighted, sums.log_det + sums.count * np.log(phi) + np.log(determinant)


def total_at_nodes(
    sums: AircraftSums, groups: int, spread: Array, phi: float
) -> tuple[Array, Array]:
    """Return W'V^-1W summed over the aircraft of each group, and log det V over all, at many D.

    Args:
        spread: Shape (nodes, k, k).

    Returns:
        Shapes (nodes, groups, p + 1, p + 1) and (nodes,).
    """
    nodes, size, k = len(spread), sums.products.shape[1], spread.shape[1]
    total = np.zeros((nodes, groups, size, size))
    log_det = np.full(nodes, float(sums.log_det.sum() + sums.count.sum() * np.log(phi)))
    for group in range(groups):
        mine = np.flatnonzero(sums.group_of == group)
        for part in _chunks(len(mine), nodes * 8 * 3):
            products = sums.products[mine[part]] / phi
            determinant = node_determinants(products, spread)
            log_det += np.log(determinant).sum(axis=1)
            pieces = summed_pieces(node_pieces(products, k), 1.0 / determinant)
            total[:, group] += join_blocks(products[:, k:, k:].sum(axis=0), pieces, spread)
    return total, log_det


def average_over_spread(
    sums: AircraftSums,
    groups: int,
    grid: SpreadGrid,
    phi: float,
    known: Array | None = None,
    others: Array | None = None,
) -> AveragedFit:
    """Solve every group at every node and weigh the nodes.

    Args:
        groups: Each must have points that determine its curve.
        known (p, p): Information on every curve beforehand, which is then about zero.
        others (nodes,): -2 log likelihood of groups that are not among the sums.

    Returns:
        Of the nodes that count.

    Raises:
        numpy.linalg.LinAlgError: If a group's points do not determine its curve.
    """
    total, log_det = total_at_nodes(sums, groups, grid.spread, phi)
    if others is not None:
        log_det += others
    if known is not None:
        total[:, :, :-1, :-1] += known
    covariance, beta, deviance = solve_total(total)
    log_weight = -(log_det + deviance.sum(axis=1)) / 2.0 + grid.log_prior
    weight = np.exp(log_weight - log_weight.max())
    keep = weight > _NEGLIGIBLE
    return AveragedFit(
        weight=weight[keep] / weight[keep].sum(),
        spread=grid.spread[keep],
        log_prior=grid.log_prior[keep],
        phi=phi,
        total=total[keep],
        log_det=log_det[keep],
        beta=beta[keep],
        covariance=covariance[keep],
    )


def solve_total(total: Array) -> tuple[Array, Array, Array]:
    """Return covariance, beta and the part of the deviance that belongs to the curve.

    Args:
        total (..., p + 1, p + 1): W'V^-1W of a group.

    Returns:
        Shapes (..., p, p), (..., p) and (...).
    """
    curve, right = total[..., :-1, :-1], total[..., :-1, -1]
    covariance: Array = np.asarray(np.linalg.inv(curve), dtype=np.float64)
    beta: Array = (covariance @ right[..., None])[..., 0]
    misfit = total[..., -1, -1] - (beta * right).sum(axis=-1)
    return covariance, beta, np.asarray(np.linalg.slogdet(curve)[1] + misfit)


def mixture_quantiles(
    weight: Array, mean: Array, deviation: Array, levels: Sequence[float]
) -> list[Array]:
    """Return quantiles of mixtures of normal distributions.

    Args:
        weight: Shape (nodes,).
        mean, deviation: Shape (nodes, n).
        levels: Between 0 and 1.

    Returns:
        For each level shape (n,): To about 1e-10 of the width of the mixture. The heavy nodes tell
        nearly where it is, so that all together are mostly asked once.
    """
    every = _heavy_nodes(weight, mean, np.maximum(deviation, 1e-300), _UNSEEN_WEIGHT)
    heavy = _heavy_nodes(*every, _UNSEEN_AT_FIRST)
    weight, mean, deviation = every
    ends = (mean - 12.0 * deviation).min(axis=0), (mean + 12.0 * deviation).max(axis=0)
    centre = weight @ mean
    width = np.sqrt(weight @ (deviation**2 + (mean - centre) ** 2))
    found = []
    for level in levels:
        start = centre + special.ndtri(level) * width
        start = _quantile_near(start, ends, heavy, level, rounds=_ROUNDS_AT_FIRST)
        found.append(_quantile_near(start, ends, every, level, rounds=_MOST_ROUNDS))
    return found


def _quantile_near(
    found: Array,
    ends: tuple[Array, Array],
    nodes: tuple[Array, Array, Array],
    level: float,
    rounds: int,
) -> Array:
    """Return a quantile by Halley's steps, halving where a step would leave the bracket.

    A step leaves about its own third power, in parts of the smallest deviation: after one of
    `_LAST_STEP` nothing is left that a digit shows. Source: W. H. Press and others,
    Numerical Recipes (2007), 9.4, from memory.

    Args:
        ends (2 of (n,)): Of the bracket.
        nodes: Weight, mean and deviation.
    """
    (low, high), (weight, mean, deviation) = ends, nodes
    close = np.maximum(1e-12 * (high - low), _LAST_STEP * deviation.min(axis=0))
    steep = 1.0 / deviation
    scaled = mean * steep
    away, dense = np.empty_like(mean), np.empty_like(mean)  # the same memory each round
    moved = high - low
    for _ in range(rounds):
        np.multiply(found, steep, out=away)
        away -= scaled
        excess = weight @ special.ndtr(away, out=dense) - level
        low, high = np.where(excess < 0.0, found, low), np.where(excess < 0.0, high, found)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore", under="ignore"):
            _density(away, steep, out=dense)
            slope = weight @ dense
            step = excess / slope * _ROOT_OF_TWO_PI
            dense *= away
            dense *= steep
            turn = -0.5 * step * (weight @ dense) / slope
            following = found - np.where(np.abs(turn) < 0.5, step / (1.0 - turn), step)
        trusted = (following >= low) & (following <= high)  # false for NaN
        trusted &= np.abs(following - found) < 0.5 * moved  # else halving is faster
        following = np.where(trusted, following, (low + high) / 2.0)
        # what has been found stays: its steps are the noise of the last digit, which halving
        # would take for slow
        following = np.where(moved > close, following, found)
        moved = np.abs(following - found)
        found = following
        if not np.any(moved > close):
            break
    return np.asarray(found)


def _density(away: Array, steep: Array, out: Array) -> None:
    """Put down how densely each node lies, but for the root of two pi."""
    np.square(away, out=out)
    out *= -0.5
    np.exp(out, out=out)
    out *= steep


def _heavy_nodes(
    weight: Array, mean: Array, deviation: Array, unseen: float
) -> tuple[Array, Array, Array]:
    """Return the nodes that carry all of the weight but a part."""
    order = np.argsort(weight)
    keep = order[~(np.cumsum(weight[order]) <= unseen * weight.sum())]
    return weight[keep], mean[keep], deviation[keep]


def mixture_band(weight: Array, mean: Array, deviation: Array, level: float) -> tuple[Array, Array]:
    """Return the limits that leave out as much on either side of mixtures of normals.

    Args:
        weight: Shape (nodes,).
        mean, deviation: Shape (nodes, n).
        level: Coverage.

    Returns:
        Low and high, each of shape (n,).
    """
    out = (1.0 - level) / 2.0
    low, high = mixture_quantiles(weight, mean, deviation, (out, 1.0 - out))
    return low, high


def curve_band(
    weight: Array,
    coefficients: Array,
    covariance: Array,
    x: Array,
    level: float,
    extra: Array | float = 0.0,
) -> tuple[Array, Array]:
    """Return the band of a curve whose coefficients are a mixture of normals.

    Args:
        weight: Shape (nodes,).
        coefficients: Shape (nodes, p).
        covariance: Shape (nodes, p, p).
        x (n, p): Rows of the basis.
        level: Coverage.
        extra (nodes, n), or float: Variance beside that of the curve.

    Returns:
        Low and high, each of shape (n,).
    """
    variance = variance_along(x, covariance) + extra
    return mixture_band(weight, coefficients @ x.T, np.sqrt(variance), level)


def averaged_wald(weight: Array, coefficients: Array, covariance: Array) -> float:
    """Return the averaged chance of coefficients so far from zero, by Wald's chi-square.

    Args:
        weight: Shape (nodes,).
        coefficients: Shape (nodes, p).
        covariance: Shape (nodes, p, p).
    """
    solved = np.linalg.solve(covariance, coefficients[..., None])[..., 0]
    size = (coefficients * solved).sum(axis=1)
    chance = float(weight @ special.chdtrc(coefficients.shape[1], size))
    return min(chance, 1.0)  # weights sum to 1 roughly


def _chunks(count: int, bytes_each: int) -> list[slice]:
    size = max(1, _CHUNK_BYTES // max(bytes_each, 1))
    return [slice(first, first + size) for first in range(0, count, size)]


@dataclass(frozen=True)
class LeftOut:
    """One aircraft against the rest of its group, at every node.

    Attributes:
        weight (nodes,): Posterior weights without the aircraft.
        beta (nodes, p): Curve of the rest.
        covariance: Shape (nodes, p, p).
    """

    weight: Array
    beta: Array
    covariance: Array


def leave_out(fit: AveragedFit, sums: AircraftSums, aircraft: Index) -> Iterator[LeftOut]:
    """Take aircraft away one at a time.

    Args:
        fit: Of `sums`.
        aircraft (m,): Which aircraft of `sums`.

    Yields:
        One for each, a block at a time, as all together would fill the memory; with NaN where the
        rest does not determine the curve.
    """
    all_apart = solve_total(fit.total)[2]
    for part in _chunks(len(aircraft), len(fit.weight) * sums.products[0].nbytes * 4):
        some = aircraft[part]
        weighted, log_det = weigh_at_nodes(sums.select(some), fit.spread, fit.phi)
        group = sums.group_of[some]
        rest = fit.total[:, group] - weighted
        covariance, beta, deviance = _solve_if_determined(rest)
        change = deviance - all_apart[:, group] - log_det
        log_weight = np.log(fit.weight)[:, None] - change / 2.0
        weight = np.exp(log_weight - log_weight.max(axis=0))
        weight = weight / weight.sum(axis=0)
        for i in range(len(some)):
            yield LeftOut(weight[:, i], beta[:, i], covariance[:, i])


def _solve_if_determined(total: Array) -> tuple[Array, Array, Array]:
    """As `solve_total`, with NaN where a curve hangs on the aircraft that was taken away."""
    curve = total[..., :-1, :-1]
    size = np.sqrt(np.einsum("...ii->...i", curve))
    with np.errstate(invalid="ignore", divide="ignore"):
        scaled = curve / (size[..., :, None] * size[..., None, :])
        good = np.isfinite(scaled).all(axis=(-2, -1))
        good &= np.linalg.det(np.where(good[..., None, None], scaled, 0.0)) > 1e-12
    safe = total.copy()
    safe[~good] = np.eye(total.shape[-1])
    covariance, beta, deviance = solve_total(safe)
    covariance[~good], beta[~good], deviance[~good] = np.nan, np.nan, np.nan
    return covariance, beta, deviance
