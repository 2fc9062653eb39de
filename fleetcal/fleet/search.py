"""Where the search for D and phi starts, how far it may go, and when there is nothing to find."""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.likelihood import group_sums
from fleetcal.fleet.points import Array
from fleetcal.fleet.sums import AircraftSums

#: Factor on the variances of the points: they may turn out too small, never too large.
LARGEST_PHI: Final = 100.0
#: The likelihood is flat near its top: variances need a finer stop than is usual.
SMALLEST_GAIN: Final = 1e-12
#: Columns of the curve closer together than this are told apart by rounding only.
SMALLEST_SINE_SQUARED: Final = 1e-12
#: Scatter over claimed uncertainty beyond which the sums have lost their digits.
LARGEST_SCATTER: Final = 1e5


def departure_scale(sums: AircraftSums, groups: int, size: int) -> Array:
    """Return a natural size for the entries of L: the scatter of y, per column.

    Args:
        size: k, the size of L.

    Returns:
        Shape (k*(k+1)/2,).

    Raises:
        FitError: If the points scatter beyond all reason.
    """
    free = max(int(sums.count.sum()) - groups, 1)
    alone = group_sums(sums, np.zeros((size, size)), 1.0, groups)
    mean_variance = np.exp(float(sums.log_det.sum()) / max(int(sums.count.sum()), 1))
    scatter = np.sqrt(max(float(alone.misfit.sum()) / free, 1.0))
    if scatter > LARGEST_SCATTER:
        raise FitError(
            f"the points scatter {scatter:.0e} times more than their stated uncertainties",
            "correct the uncertainties, or the points that stand far off",
        )
    level = scatter * np.sqrt(mean_variance)
    column = np.array([1.0, 10.0])[:size]
    rows, _ = np.tril_indices(size)
    return np.asarray(level * column[rows])


def first_guess(size: int) -> Array:
    """Return entries of L, in units of `departure_scale`, and log phi to start from.

    Args:
        size: k, the size of L.

    Returns:
        Shape (k*(k+1)/2 + 1,).
    """
    return np.array([0.5, 0.1]) if size == 1 else np.array([0.5, 0.0, 0.2, 0.1])


def within_reach(start: Array, size: int) -> Array:
    """Return a start from which the search can move.

    The slope vanishes where L has a zero on its diagonal, and is lost in
    rounding where L is far too large: a bad aircraft just left out may have
    blown it up.

    Args:
        start (k*(k+1)/2 + 1,): In the units of `first_guess`.
        size: k, the size of L.

    Returns:
        Same shape.
    """
    guess = first_guess(size)
    if np.abs(start[:-1]).max() > 10.0:
        return guess
    rows, columns = np.tril_indices(size)
    diagonal = np.flatnonzero(rows == columns)
    moved = start.copy()
    moved[diagonal] = np.maximum(np.abs(moved[diagonal]), guess[diagonal] / 10.0)
    return moved


def log_phi_limit(sums: AircraftSums, size: int) -> float:
    """Return the upper limit of log phi, 0 where no aircraft has points to spare.

    Points that every aircraft's own level and tilt can run through say nothing
    of their own scatter: phi and D could then trade places freely.

    Args:
        size: Coefficients by which an aircraft departs.
    """
    spare = int(np.maximum(sums.count - size, 0).sum())
    return float(np.log(LARGEST_PHI)) if spare else 0.0


def require_believed(phi: float) -> None:
    """Refuse a fit whose points scatter by more than phi may allow for.

    Beyond its limit phi leaves points surer than they are, and what hangs on them
    (a bend above all, which no aircraft's own departure takes up) looks certain.

    Args:
        phi: Factor found on the variances of the points.

    Raises:
        FitError: If phi ended at its limit.
    """
    if phi > 0.999 * LARGEST_PHI:
        raise FitError(
            f"points of one aircraft scatter over {np.sqrt(LARGEST_PHI):.0f} times more than "
            "their stated uncertainties",
            "correct the uncertainties, or reject the points that stand far off",
        )


def require_determined(sums: AircraftSums, groups: int) -> None:
    """Refuse groups whose columns 1, t, t^2 are the same but for rounding.

    Raises:
        FitError: If the points of a group do not determine its curve.
    """
    if not _determined(_columns_of_groups(sums, groups)).all():
        raise undetermined()


def determined_without_each(sums: AircraftSums, groups: int) -> Array:
    """Tell of each aircraft whether the others of its group determine the curve.

    The others are added up: what one aircraft outweighs would be lost in a difference.

    Returns:
        Shape (aircraft,) of bool.
    """
    products = sums.products[:, :-1, :-1]
    others = np.zeros_like(products)
    for group in range(groups):
        own = np.flatnonzero(sums.group_of == group)
        others[own[1:]] += np.cumsum(products[own[:-1]], axis=0)
        others[own[:-1]] += np.cumsum(products[own[:0:-1]], axis=0)[::-1]
    return _determined(others)


def _columns_of_groups(sums: AircraftSums, groups: int) -> Array:
    """Return the products of the columns of each group, shape (groups, p, p)."""
    total = np.zeros((groups, *sums.products.shape[1:]))
    np.add.at(total, sums.group_of, sums.products)
    return total[:, :-1, :-1]


def _determined(columns: Array) -> Array:
    """Tell of products of columns, shape (n, p, p), whether no column follows from others."""
    length = np.sqrt(np.maximum(np.einsum("gii->gi", columns), 0.0))
    there = (length > 0.0).all(axis=1)
    safe = np.where(length > 0.0, length, 1.0)
    cosines = columns / (safe[:, :, None] * safe[:, None, :])
    return np.asarray(there & (np.linalg.eigvalsh(cosines).min(axis=1) >= SMALLEST_SINE_SQUARED))


def undetermined() -> FitError:
    """Return the error of a group whose points do not determine its curve."""
    return FitError(
        "the points do not determine the curve: too few different speeds, or one outweighs all",
        "fly the group at more speeds, or ask for a lower order",
    )
