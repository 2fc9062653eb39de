"""What the verdict on an aircraft may be after more sorties: drawn from what is known of it.

The departure need not stay what it looks like now: one looked at for being large
tends to shrink. So the aircraft's own curve is drawn from what the others of its
group, the spread between aircraft and its own points say together, sorties of the
planned points are flown on it with their errors, and each outcome is judged by the
machinery of the verdicts. The share of outcomes is the chance (posterior
predictive simulation: D. B. Rubin, Annals of Statistics 12 (1984)). It presumes
that the aircraft is one of its group; in simulated fleets the chances held for one
with a fault of 5 kt too, because its own points soon outweigh that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy import special

from fleetcal.fleet.averaged import AveragedFit, LeftOut
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.judged_instead import adjusted_instead
from fleetcal.fleet.outliers import Verdicts
from fleetcal.fleet.points import Array, Index
from fleetcal.fleet.standing import (
    FEWEST_FOR_VERDICT,
    Departures,
    compare_versions,
    rest_of_fleet,
)

#: Nodes with less than this share of the heaviest node's weight are not drawn from.
_NEGLIGIBLE: Final = 1e-4


@dataclass(frozen=True)
class PlannedSortie:
    """What one planned sortie tells of an aircraft's own curve.

    Attributes:
        information (p, p): X'R^-1X by the stated uncertainties of its points.
        reach: Lowest and highest t flown.
    """

    information: Array
    reach: tuple[float, float]


@dataclass(frozen=True)
class Question:
    """When a verdict counts as settled.

    Attributes:
        lift (n,): s at which the departure is looked at.
        knots (n,): Knots for each unit of kappa there.
        smallest_kt: Smallest departure that counts.
        level: Chance of any false flag.
    """

    lift: Array
    knots: Array
    smallest_kt: float
    level: float


def settled(question: Question, found: Departures, adjusted: Array) -> tuple[Array, Array]:
    """Tell which versions of an aircraft have a settled verdict, and which are outside.

    Settled is an aircraft that is outside, or one that is inside with its departure
    known to less than the smallest departure that counts.

    Args:
        adjusted (versions,): p-values adjusted for all that were judged.

    Returns:
        Shape (versions,): Settled, outside.
    """
    z = curve_basis(question.lift, found.departure.shape[1] - 1)
    largest = np.max(np.abs(found.departure @ z.T) * question.knots, axis=1)
    variance = np.einsum("xi,vij,xj->vx", z, found.covariance, z, optimize=True)
    half = special.ndtri(0.975) * np.max(np.sqrt(variance) * question.knots, axis=1)
    large = largest >= question.smallest_kt
    outside = large & (adjusted < question.level)
    inside = ~(large & (found.p_value < question.level))
    return outside | (inside & (half <= question.smallest_kt)), outside


def foresee_standing(
    verdicts: Verdicts,
    group: int,
    aircraft: int | None,
    sortie: PlannedSortie,
    question: Question,
    numbers: Sequence[int],
    draws: int,
    rng: np.random.Generator,
) -> Array:
    """Return the chances that a verdict is settled, and outside, after more sorties.

    Args:
        aircraft: None for one that has no points yet.
        numbers: Of further sorties, rising.
        draws: Outcomes that are drawn.

    Returns:
        Shape (numbers, 2): NaN where there are too few others for a verdict.

    Raises:
        FitError: If the others do not determine the group's curve.
    """
    sums, groups = verdicts.fit.sums, len(verdicts.fit.beta)
    gone = verdicts.suspects | (frozenset() if aircraft is None else {aircraft})
    everybody, left, others = rest_of_fleet(sums, groups, verdicts.fit, gone, group)
    if others < FEWEST_FOR_VERDICT - 1:
        return np.full((len(numbers), 2), np.nan)
    averaged, rest = _likely_nodes(everybody, left)
    p = rest.beta.shape[1]
    own, reach = np.zeros((p + 1, p + 1)), np.array(sortie.reach)
    if aircraft is not None:
        own = sums.products[aircraft] / averaged.phi
        flown = sums.reach[aircraft]
        reach = np.array([min(reach[0], flown[0]), max(reach[1], flown[1])])
    curve = draw_own_curve(averaged, rest, own, draws, rng)
    more = sortie.information / averaged.phi
    chances, flown_so_far, right = [], 0, np.tile(own[:-1, -1], (draws, 1))
    for number in numbers:
        right = right + results_of(more, curve, number - flown_so_far, rng)
        flown_so_far = number
        found = compare_versions(own[:-1, :-1] + number * more, right, averaged, rest, reach)
        adjusted = np.array(
            [adjusted_instead(verdicts, aircraft, chance) for chance in found.p_value]
        )
        chances.append([float(np.mean(outcome)) for outcome in settled(question, found, adjusted)])
    return np.array(chances)


def draw_own_curve(
    averaged: AveragedFit, rest: LeftOut, own: Array, draws: int, rng: np.random.Generator
) -> Array:
    """Draw the curve of one aircraft from what the others and its own points say of it.

    Args:
        rest: Of the others, at the same nodes.
        own (p + 1, p + 1): W'R^-1W of its own points over phi; zero without any.

    Returns:
        Shape (draws, p).
    """
    k = averaged.spread.shape[1]
    prior = rest.covariance.copy()
    prior[:, :k, :k] += averaged.spread
    known = np.linalg.inv(prior)
    start = np.einsum("nij,nj->ni", known, rest.beta)
    sharper = known + own[:-1, :-1]
    covariance = np.asarray(np.linalg.inv(sharper), dtype=np.float64)
    mean = np.einsum("nij,nj->ni", covariance, start + own[:-1, -1])
    fitting = np.einsum("ni,nij,nj->n", mean, sharper, mean) - (start * rest.beta).sum(axis=1)
    fitting -= np.linalg.slogdet(prior)[1] + np.linalg.slogdet(sharper)[1]
    chance = rest.weight * np.exp((fitting - fitting.max()) / 2.0)
    return draw_curves(chance, mean, covariance, draws, rng)[1]


def draw_curves(
    chance: Array, mean: Array, covariance: Array, draws: int, rng: np.random.Generator
) -> tuple[Index, Array]:
    """Draw from a mixture of normal distributions.

    Args:
        chance (nodes,): Need not sum to 1.
        mean: Shape (nodes, p).
        covariance: Shape (nodes, p, p).

    Returns:
        Node of each draw, and the draws, shape (draws, p).
    """
    node: Index = rng.choice(len(chance), size=draws, p=chance / chance.sum())
    root = np.linalg.cholesky(covariance)[node]
    noise = rng.standard_normal((draws, mean.shape[1]))
    return node, np.asarray(mean[node] + np.einsum("dij,dj->di", root, noise))


def results_of(information: Array, curve: Array, times: int, rng: np.random.Generator) -> Array:
    """Draw X'R^-1y of sorties flown on given curves.

    Args:
        information (p, p): X'R^-1X of one sortie.
        curve: Shape (draws, p).
        times: Sorties, all together.

    Returns:
        Shape (draws, p).
    """
    value, vector = np.linalg.eigh(information)
    root = vector * np.sqrt(np.maximum(times * value, 0.0))
    noise = rng.standard_normal(curve.shape) @ root.T
    return np.asarray(times * curve @ information + noise)


def _likely_nodes(averaged: AveragedFit, rest: LeftOut) -> tuple[AveragedFit, LeftOut]:
    keep = rest.weight > _NEGLIGIBLE * rest.weight.max()
    weight = rest.weight[keep] / rest.weight[keep].sum()
    fewer = replace(averaged, spread=averaged.spread[keep])
    return fewer, LeftOut(weight, rest.beta[keep], rest.covariance[keep])
