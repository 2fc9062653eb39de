"""What the data say of the spread between aircraft: a weighted grid, not one value.

A handful of aircraft tells the spread D only roughly, and its best value is
often zero. Every answer that depends on D is therefore averaged over a grid of
standard deviations of level and tilt and of their correlation, weighted by the
restricted likelihood and a Jeffreys-type prior, which needs no scale and gives
intervals that hold the truth about as often as they say. Sources: A. Gelman,
Prior distributions for variance parameters, Bayesian Analysis 1 (2006); D.
Bodnar, A. Link, B. Arendacka, A. Possolo, C. Elster, Bayesian estimation in
random effects meta-analysis using a non-informative prior, Statistics in
Medicine 36 (2017).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from fleetcal.fleet.points import Array
from fleetcal.fleet.spread_prior import SpreadPrior
from fleetcal.fleet.sums import AircraftSums

#: Smallest and largest standard deviation, as shares of their scale.
_ENDS: Final = (0.05, 8.0)
#: Ratio from node to node of level and tilt.
_RATIOS: Final = (1.44, 1.66)
#: Nodes of the correlation and their shares of a prior that is even from -1 to 1: Lobatto's
#: rule, with its ends drawn in a little. Where one error makes level and tilt together, as
#: that of a power display does, the correlation is 1.
_CORRELATIONS: Final = np.array([-0.99, -np.sqrt(3.0 / 7.0), 0.0, np.sqrt(3.0 / 7.0), 0.99])
_SHARES: Final = np.array([9.0, 49.0, 64.0, 49.0, 9.0]) / 180.0
#: Steps about the best value, in standard errors: many aircraft tell the spread
#: so well that nodes of a fixed ratio would miss all that is likely.
_NEAR: Final = np.linspace(-5.0, 5.0, 11)
#: Standard error of log sd below which the far nodes hardly count.
_CLOSELY_KNOWN: Final = 0.15
_NEAR_CORRELATIONS: Final = np.linspace(-2.7, 2.7, 5)
#: Aircraft, counted by how well they tell it, from which the correlation is known at all.
_AIRCRAFT_FOR_CORRELATION: Final = 25.0
#: Most that a correlation that is known is taken to be.
_CLOSEST: Final = 0.98


@dataclass(frozen=True)
class SpreadGrid:
    """Nodes of D with their prior weights.

    Attributes:
        spread (nodes, k, k): D at each node.
        log_prior (nodes,): Log of prior density times cell size.
        axes: Standard deviations of each coefficient.
        shares: Of the prior, of each correlation; of one coefficient, 1.
    """

    spread: Array
    log_prior: Array
    axes: tuple[Array, ...] = ()
    shares: Array = field(default_factory=lambda: np.ones(1))

    def likely_alike(self, variance: Array) -> SpreadGrid:
        """Return the grid with the prior of other units that are likely alike.

        Args:
            variance (units, k): As `own_variances` returns, in the units of the grid.
        """
        priors = [_half_cauchy_prior(axis, variance[:, j]) for j, axis in enumerate(self.axes)]
        return replace(self, log_prior=_joint_prior(priors, self.shares))


def own_variances(sums: AircraftSums, size: int, phi: float) -> Array:
    """Return the variances with which each aircraft's own points tell its departure.

    Args:
        size: k, coefficients of a departure.

    Returns:
        Shape (aircraft, k): Of level and tilt; infinite where the aircraft's points do not tell it.
    """
    own = sums.products[:, :size, :size] / phi
    if size == 1:
        return np.asarray(1.0 / own[:, :1, 0])
    determinant = own[:, 0, 0] * own[:, 1, 1] - own[:, 0, 1] ** 2
    with np.errstate(divide="ignore", invalid="ignore"):
        determined = determinant > 1e-9 * own[:, 0, 0] * own[:, 1, 1]
        level = np.where(determined, own[:, 1, 1] / determinant, 1.0 / own[:, 0, 0])
        tilt = np.where(determined, own[:, 0, 0] / determinant, np.inf)
    return np.stack([level, tilt], axis=1)


def spread_grid(
    sums: AircraftSums,
    size: int,
    phi: float,
    found: Array,
    *,
    likely_alike: bool = False,
    known: SpreadPrior | None = None,
) -> SpreadGrid:
    """Return a grid of D that reaches well beyond what the data may say.

    Args:
        found (k, k): D of highest restricted likelihood, for the scale of the grid.
        known: What is known of the spread beforehand, in the place of the Jeffreys-type prior.
        likely_alike: Whether the units are expected to be alike but for their own uncertainty, as
            sorties of one airframe are: then a half-Cauchy prior of the size of that uncertainty
            takes the place of the Jeffreys-type one.
    """
    variance = own_variances(sums, size, phi)
    free = len(variance) - len(np.unique(sums.group_of))
    scale = grid_scale(variance, found)
    if known is not None:
        scale = [known.between(j, scale[j], free) for j in range(size)]
    axes = [scale[j] * _axis(_RATIOS[j], scale[j], variance[:, j], free) for j in range(size)]
    if known is None:
        prior = _half_cauchy_prior if likely_alike else _axis_prior
        priors = [prior(axis, variance[:, j]) for j, axis in enumerate(axes)]
    else:
        priors = [_known_prior(known, j, axis) for j, axis in enumerate(axes)]
    if size == 1:
        return SpreadGrid((axes[0] ** 2)[:, None, None], priors[0], tuple(axes))
    correlations, shares = _correlations(found, variance)
    level, tilt, correlation = np.meshgrid(axes[0], axes[1], correlations, indexing="ij")
    spread = np.empty((level.size, 2, 2))
    spread[:, 0, 0], spread[:, 1, 1] = level.ravel() ** 2, tilt.ravel() ** 2
    spread[:, 0, 1] = spread[:, 1, 0] = (correlation * level * tilt).ravel()
    return SpreadGrid(spread, _joint_prior(priors, shares), tuple(axes), shares)


def grid_scale(variance: Array, found: Array) -> list[float]:
    """Return the standard deviations that the axes of a grid are shares of.

    Args:
        variance (units, k): As `own_variances` returns.
        found (k, k): D of highest restricted likelihood.
    """
    both = ((float(found[j, j]), _middle(variance[:, j]) / 4.0) for j in range(len(found)))
    return [float(np.sqrt(max(pair))) for pair in both]


def scale_errors(variance: Array, scale: list[float]) -> list[float]:
    """Return the standard error of the log of each standard deviation, by expected information.

    Args:
        variance (units, k): As `own_variances` returns.
    """
    return [_log_error(variance[:, j], scale[j]) for j in range(len(scale))]


def _log_error(variance: Array, scale: float) -> float:
    share = scale**2 / (variance[np.isfinite(variance)] + scale**2)
    return float(1.0 / np.sqrt(2.0 * float(share @ share))) if len(share) else np.inf


def _joint_prior(priors: list[Array], shares: Array) -> Array:
    """Return log(prior * cell) at every node from that of each axis."""
    if len(priors) == 1:
        return priors[0]
    log_prior = priors[0][:, None, None] + priors[1][None, :, None] + np.log(shares)
    return np.asarray(log_prior.ravel())


def _middle(variance: Array) -> float:
    known = variance[np.isfinite(variance)]
    return float(np.median(known)) if len(known) else 1e-12


def _axis(ratio: float, scale: float, variance: Array, free: int) -> Array:
    """Return nodes of one standard deviation, as shares of its scale.

    Zero, nodes far apart, and nodes close together where the aircraft tell the
    spread that well. Where nobody's points tell the coefficient, zero alone.
    """
    known = variance[np.isfinite(variance)]
    if not len(known):
        return np.zeros(1)
    smallest = _ENDS[0]
    largest = max(_ENDS[1], 10.0 ** (4.0 / max(free, 2)))  # the fewer, the longer the tail
    count = 1 + int(np.ceil(np.log(largest / smallest) / np.log(ratio)))
    far = np.geomspace(smallest, largest, count)
    error = _log_error(known, scale)
    if error > np.log(ratio):
        return np.asarray(np.r_[0.0, far])
    near = np.exp(error * _NEAR)
    far = far[::2] if error < _CLOSELY_KNOWN else far
    outside = far[(far < near[0]) | (far > near[-1])]
    return np.asarray(np.sort(np.r_[0.0, near, outside]))


def _correlations(found: Array, variance: Array) -> tuple[Array, Array]:
    """Return nodes of the correlation and their shares of the prior.

    Where many aircraft tell it the nodes lie close about the best value.
    """
    share = np.diag(found) / (np.where(np.isfinite(variance), variance, np.inf) + np.diag(found))
    informative = float(np.sum(share[:, 0] * share[:, 1]))
    if informative < _AIRCRAFT_FOR_CORRELATION:
        return _CORRELATIONS, _SHARES
    best = float(np.clip(found[0, 1] / np.sqrt(found[0, 0] * found[1, 1]), -_CLOSEST, _CLOSEST))
    near = best + (1.0 - best**2) / np.sqrt(informative) * _NEAR_CORRELATIONS
    near = near[np.abs(near) < 0.995]
    return near, np.full(len(near), 1.0 / len(near))


def cell_edges(sd: Array) -> Array:
    """Return the edges of the cells about the nodes above zero.

    Args:
        sd (n,): Zero, then rising.

    Returns:
        Shape (n,): Half way in the logarithm; the last as far beyond its node as the one below.
    """
    middles = np.sqrt(sd[1:-1] * sd[2:])
    return np.asarray(np.r_[sd[1] ** 2 / middles[0], middles, sd[-1] ** 2 / middles[-1]])


def _known_prior(known: SpreadPrior, coefficient: int, sd: Array) -> Array:
    if len(sd) == 1:
        return np.zeros(1)
    return known.log_chance(coefficient, cell_edges(sd))


def _half_cauchy_prior(sd: Array, variance: Array) -> Array:
    """Return log(prior * cell) of one standard deviation: 1 / (v + sd^2) with a middle v."""
    if len(sd) == 1:
        return np.zeros(1)
    chance = np.arctan(np.r_[0.0, cell_edges(sd)] / np.sqrt(_middle(variance)))
    return np.asarray(np.log(np.diff(chance)))


def _axis_prior(sd: Array, variance: Array) -> Array:
    """Return log(prior * cell) of one standard deviation: sd * sqrt(sum (v + sd^2)^-2)."""
    if len(sd) == 1:
        return np.zeros(1)
    known = variance[np.isfinite(variance)]
    information = ((known[None, :] + sd[:, None] ** 2) ** -2.0).sum(axis=1)
    edges = cell_edges(sd)
    # sd is summed over each cell in its logarithm; the node at zero has the rest below them
    cell = np.r_[edges[0] ** 2 / 2.0, sd[1:] ** 2 * np.log(edges[1:] / edges[:-1])]
    return np.asarray(np.log(np.sqrt(information) * cell))
