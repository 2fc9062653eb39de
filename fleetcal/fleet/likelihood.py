"""Restricted likelihood of the fleet model, from per-aircraft sums.

Model of aircraft a in group g: y = X beta_g + Z b_a + e, b_a ~ N(0, D) with D
common to all groups of a type, e ~ N(0, phi R). Z is the first columns of X.
D = L L' with L lower triangular, so that "all aircraft alike" (D = 0) is an
ordinary point and not a boundary where the search breaks. Sources: Harville,
JASA 72 (1977); J. C. Pinheiro, D. M. Bates, Mixed-Effects Models in S and
S-PLUS (2000), chapter 2.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.fleet.basis import DEPARTURE
from fleetcal.fleet.points import Array
from fleetcal.fleet.sums import AircraftSums


@dataclass(frozen=True, kw_only=True)
class GroupSums:
    """Generalised least-squares sums at one D and phi.

    Attributes:
        weighted (aircraft, p + 1, p + 1): W'V^-1W of each aircraft.
        curve (groups, p, p): X'V^-1X of each group.
        covariance (groups, p, p): Its inverse.
        beta: Shape (groups, p).
        misfit (groups,): Weighted sum of squares about the group's curve.
        deviance: -2 log restricted likelihood, without its constant.
    """

    weighted: Array
    curve: Array
    covariance: Array
    beta: Array
    misfit: Array
    deviance: float


def departure_columns(order: int) -> int:
    """Return how many coefficients an aircraft may depart by at a curve order."""
    return min(DEPARTURE, order + 1)


def lower_triangle(entries: Array, size: int) -> Array:
    """Return the lower-triangular matrix with the given entries, row by row.

    Args:
        entries: Shape (size*(size+1)/2,).

    Returns:
        Shape (size, size).
    """
    matrix = np.zeros((size, size))
    matrix[np.tril_indices(size)] = entries
    return matrix


def weigh(sums: AircraftSums, root: Array, phi: float) -> tuple[Array, Array]:
    """Return W'V^-1W and log det V of each aircraft, V = phi R + Z L L' Z'.

    Args:
        root (k, k): L.
        phi: Factor on the variances of the points.

    Returns:
        Shapes (aircraft, p + 1, p + 1) and (aircraft,).
    """
    k = len(root)
    spread = root @ root.T
    products = sums.products / phi
    mixed = np.eye(k) + products[:, :k, :k] @ spread
    # the rows of Z without a difference, whose digits a large D would use up
    rows = np.linalg.solve(mixed, products[:, :k])
    weighted = products - products[:, :, :k] @ spread @ rows
    weighted[:, :k, k:] = rows[:, :, k:]
    weighted[:, k:, :k] = np.swapaxes(rows[:, :, k:], 1, 2)
    weighted[:, :k, :k] = (rows[:, :, :k] + np.swapaxes(rows[:, :, :k], 1, 2)) / 2.0
    log_det = sums.log_det + sums.count * np.log(phi) + np.linalg.slogdet(mixed)[1]
    return weighted, log_det


def group_sums(
    sums: AircraftSums, root: Array, phi: float, groups: int, known: Array | None = None
) -> GroupSums:
    """Return the generalised least-squares solution of every group at one D and phi.

    Args:
        root (k, k): L with D = L L'.
        groups: Number of groups; each must have points.
        known (p, p): Information on every curve beforehand, which is then about zero.

    Raises:
        numpy.linalg.LinAlgError: If a group's points do not determine its curve.
    """
    weighted, log_det = weigh(sums, root, phi)
    total = np.zeros((groups, *weighted.shape[1:]))
    np.add.at(total, sums.group_of, weighted)
    if known is not None:
        total[:, :-1, :-1] += known
    curve, right = total[:, :-1, :-1], total[:, :-1, -1]
    covariance = np.linalg.inv(curve)
    beta = np.einsum("gij,gj->gi", covariance, right)
    misfit = total[:, -1, -1] - np.einsum("gi,gi->g", beta, right)
    deviance = float(log_det.sum() + np.linalg.slogdet(curve)[1].sum() + misfit.sum())
    return GroupSums(
        weighted=weighted,
        curve=curve,
        covariance=covariance,
        beta=beta,
        misfit=misfit,
        deviance=deviance,
    )


def deviance_slope(sums: AircraftSums, solved: GroupSums, root: Array) -> Array:
    """Return the derivative of the deviance by the entries of L and by log phi.

    Args:
        solved: At `root` and any phi.
        root (k, k): L.

    Returns:
        Shape (k*(k+1)/2 + 1,).
    """
    k = len(root)
    beta, covariance = solved.beta[sums.group_of], solved.covariance[sums.group_of]
    cross = solved.weighted[:, :k, :-1]
    pull = solved.weighted[:, :k, -1] - np.einsum("aki,ai->ak", cross, beta)
    by_spread = (
        solved.weighted[:, :k, :k].sum(axis=0)
        - np.einsum("aki,aij,alj->kl", cross, covariance, cross)
        - pull.T @ pull
    )
    free = int(sums.count.sum()) - solved.beta.size
    by_log_phi = free - solved.misfit.sum() - np.sum(by_spread * (root @ root.T))
    slope: Array = np.r_[(2.0 * by_spread @ root)[np.tril_indices(k)], by_log_phi]
    return slope
