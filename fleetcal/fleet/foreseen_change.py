"""Whether more sorties would tell what a change did: drawn from what is known so far.

The curve after the change is drawn from what its sorties say and from how large
such changes are beforehand; planned sorties are flown on it, with the spread that
sorties of one airframe show in the fleet, and each outcome is taken into the fit
at every node of that spread and contrasted as the change check does it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from fleetcal.errors import FitError
from fleetcal.fleet.averaged import AveragedFit, averaged_wald, solve_total, weigh_at_nodes
from fleetcal.fleet.basis import curve_basis, variance_along
from fleetcal.fleet.foreseen_standing import (
    PlannedSortie,
    Question,
    draw_curves,
    results_of,
)
from fleetcal.fleet.points import Array, Index
from fleetcal.fleet.pooled import PooledFit
from fleetcal.fleet.sums import AircraftSums

#: Standard deviations expected of a change before anything was flown after it: level (as
#: kappa, 2 kt at twice the scaling speed of 50 kt), tilt and bend per unit of s. Ours.
USUAL_CHANGE: Final = (0.04, 0.10, 0.20)
_BOUND: Final = 10.0
_NEGLIGIBLE: Final = 1e-3


@dataclass(frozen=True, kw_only=True)
class _Sides:
    """Curves before and after at every node: what the fit has summed of them."""

    weight: Array
    spread: Array
    phi: float
    before: Array
    before_covariance: Array
    total: Array


def foresee_change(
    fit: PooledFit,
    before: int,
    after: int | None,
    sortie: PlannedSortie,
    question: Question,
    numbers: Sequence[int],
    draws: int,
    rng: np.random.Generator,
) -> Array:
    """Return the chances that a change is settled, and found, after more sorties.

    Settled is a change that is found, or one whose whole 95 % band lies within the
    smallest departure that counts at every speed asked for.

    Args:
        fit: Sorties as its units; airframes before and after as its groups.
        before: Group.
        after: Group; None if nothing was flown after the change yet.
        sortie: Flown after the change.
        numbers: Of further sorties, rising.

    Returns:
        Shape (numbers, 2).

    Raises:
        FitError: If the points after the change, planned ones included, determine no curve.
    """
    sides = _sides(fit, before, after)
    known_after = sides.total[0, :-1, :-1] + sortie.information / sides.phi
    size = np.sqrt(np.diag(known_after))
    if np.linalg.matrix_rank(known_after / np.outer(size, size), tol=1e-8) < len(size):
        raise FitError(
            f"a curve of order {fit.order} after the change needs {fit.order + 1} speeds",
            "plan more points",
        )
    node, curve = _draw_after(sides, after is not None, draws, rng)
    chances = np.zeros((len(numbers), 2))
    for which in range(draws):
        results = _units(
            sides, sortie, curve[which], node=int(node[which]), count=max(numbers), rng=rng
        )
        found = _judged(sides, results, question, numbers)
        chances += np.array(found) / draws
    return chances


def covariance_after(fit: PooledFit, before: int, after: int | None) -> Array:
    """Return what is not known of the curve after a change, hardly anything expected of it.

    The contrast expects nothing of a change, so points are best chosen without that too;
    where nothing was flown after it, ten times the usual size is a mere bound.

    Returns:
        Shape (order + 1, order + 1).
    """
    sides = _sides(fit, before, after)
    known = np.linalg.inv(_before_and_usual(sides, _BOUND)) + sides.total[:, :-1, :-1]
    covariance: Array = np.einsum("n,nij->ij", sides.weight, np.linalg.inv(known))
    return covariance


def _before_and_usual(sides: _Sides, times: float = 1.0) -> Array:
    """Return the covariance of a curve after a change by which nothing was flown yet."""
    usual = np.diag((times * np.array(USUAL_CHANGE[: sides.before.shape[1]])) ** 2)
    return np.asarray(sides.before_covariance + usual)


def _sides(fit: PooledFit, before: int, after: int | None) -> _Sides:
    averaged: AveragedFit = fit.averaged
    keep = averaged.weight > _NEGLIGIBLE * averaged.weight.max()
    size = averaged.total.shape[-1]
    total = np.zeros((int(keep.sum()), size, size))
    if after is not None:
        total = averaged.total[keep, after]
    weight = averaged.weight[keep] / averaged.weight[keep].sum()
    return _Sides(
        weight=weight,
        spread=averaged.spread[keep],
        phi=averaged.phi,
        before=averaged.beta[keep, before],
        before_covariance=averaged.covariance[keep, before],
        total=total,
    )


def _draw_after(
    sides: _Sides, flown: bool, draws: int, rng: np.random.Generator
) -> tuple[Index, Array]:
    """Draw nodes, and the curve after the change at each."""
    prior = _before_and_usual(sides)
    known = np.linalg.inv(prior)
    curve, right = sides.total[:, :-1, :-1], sides.total[:, :-1, -1]
    covariance = np.asarray(np.linalg.inv(known + curve), dtype=np.float64)
    start = np.einsum("nij,nj->ni", known, sides.before)
    mean = np.einsum("nij,nj->ni", covariance, start + right)
    chance = sides.weight.copy()
    if flown:  # the fit's own weights allow any change; ours expects one of the usual size
        own, beta, _ = solve_total(sides.total)
        apart = beta - sides.before
        solved = np.linalg.solve(own + prior, apart[..., None])[..., 0]
        fitting = -((apart * solved).sum(axis=1) + np.linalg.slogdet(own + prior)[1]) / 2.0
        chance = chance * np.exp(fitting - fitting.max())
    return draw_curves(chance, mean, covariance, draws, rng)


def _units(
    sides: _Sides,
    sortie: PlannedSortie,
    curve: Array,
    node: int,
    count: int,
    rng: np.random.Generator,
) -> AircraftSums:
    """Fly sorties on a curve, each departing from it as sorties do at a node."""
    p, k = len(curve), sides.spread.shape[1]
    own = np.tile(curve, (count, 1))
    own[:, :k] += rng.multivariate_normal(np.zeros(k), sides.spread[node], size=count)
    information = sortie.information / sides.phi
    right = results_of(information, own, 1, rng)
    products = np.zeros((count, p + 1, p + 1))
    products[:, :-1, :-1] = information
    products[:, :-1, -1] = products[:, -1, :-1] = right
    return AircraftSums(
        products=sides.phi * products,
        log_det=np.zeros(count),
        count=np.full(count, k, dtype=np.int64),
        group_of=np.zeros(count, dtype=np.int64),
        reach=np.tile(sortie.reach, (count, 1)),
    )


def _judged(
    sides: _Sides, units: AircraftSums, question: Question, numbers: Sequence[int]
) -> list[tuple[float, float]]:
    """Take the first so many sorties into the fit, and tell whether that settles the change."""
    weighted, log_det = weigh_at_nodes(units, sides.spread, sides.phi)
    # y'R^-1y of the new sorties was left out: the same at every node, it changes no weight
    start = solve_total(sides.total)[2] if np.any(sides.total) else np.zeros(len(sides.weight))
    settled = []
    for number in numbers:
        total = sides.total + weighted[:, :number].sum(axis=1)
        covariance, beta, deviance = solve_total(total)
        change = deviance - start + log_det[:, :number].sum(axis=1)
        log_weight = np.log(sides.weight) - change / 2.0
        weight = np.exp(log_weight - log_weight.max())
        weight = weight / weight.sum()
        both = covariance + sides.before_covariance
        settled.append(settled_change(question, weight, beta - sides.before, both))
    return settled


def settled_change(
    question: Question, weight: Array, difference: Array, covariance: Array
) -> tuple[float, float]:
    """Tell whether a contrast settles what a change did, and whether it is found.

    Args:
        weight: Shape (nodes,).
        difference: Shape (nodes, p).
        covariance: Shape (nodes, p, p).

    Returns:
        1 or 0 each.
    """
    found = averaged_wald(weight, difference, covariance) < question.level
    if found:
        return 1.0, 1.0
    x = curve_basis(question.lift, difference.shape[1] - 1)
    mean = difference @ x.T * question.knots
    deviation = np.sqrt(variance_along(x, covariance)) * question.knots
    # the 95 % band ends within the limits if no more than 2.5 % lies beyond either
    below = weight @ special.ndtr((-question.smallest_kt - mean) / deviation)
    above = weight @ special.ndtr((mean - question.smallest_kt) / deviation)
    return float(np.all(np.maximum(below, above) <= 0.025)), 0.0
