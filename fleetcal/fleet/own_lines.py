"""Each aircraft's own line through its points, and what its points say beside it.

Level and tilt of every aircraft are free here, and only a bend is shared by the
aircraft of a group. So what is left over tells of the points alone: an aircraft
that is off as a whole is off by its own line, and nothing of that shows. With R
known up to one factor this is ordinary weighted regression, whose deleted
residuals follow Student's t exactly. Source: R. D. Cook, S. Weisberg, Residuals
and Influence in Regression (1982), chapter 2; the aircraft's lines are taken out
one aircraft at a time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.fleet.basis import DEPARTURE, HIGHEST_ORDER, curve_basis
from fleetcal.fleet.points import Array, FleetPoints, Index

#: Share of its precision below which the other points say nothing of a point.
_NOTHING_LEFT: Final = 1e-6


@dataclass(frozen=True, kw_only=True)
class OwnLine:
    """One aircraft with its own line taken out.

    Attributes:
        rows (n,): Its points, as numbered in the fleet.
        sortie: Shape (n,).
        z (n, 2): Columns 1 and t.
        precision (n, n): R^-1.
        left (n, n): R^-1 with level and tilt taken out.
        bend, y (n,): t^2, and what was measured.
        free: Points less what the line takes.
    """

    rows: Index
    sortie: Index
    z: Array
    precision: Array
    left: Array
    bend: Array
    y: Array
    free: int


@dataclass(frozen=True)
class LeftOver:
    """What the lines of all aircraft, and the bend of each group, leave over.

    Attributes:
        residual (n,): P y of each aircraft, P the precision with everything fitted taken out.
        precision (n, n): P.
        square: y'Py.
        free: Degrees of freedom of `square`.
    """

    residual: tuple[Array, ...]
    precision: tuple[Array, ...]
    square: float
    free: int


@dataclass(frozen=True, kw_only=True)
class OtherLines:
    """What the lines of further aircraft come to, without their points.

    Attributes:
        found, told, whole, square (groups,): b'Ly, b'Lb, b'R^-1b and y'Ly, with b the bend, y what
            was measured and L the precision with the own line taken out, summed over a group.
        free: Points less what the lines take.
    """

    found: Array
    known: Array
    before: Array
    square: Array
    free: int


def line_numbers(lines: Sequence[OwnLine]) -> Array:
    """Return what `OtherLines` is summed from.

    Returns:
        Shape (lines, 5): b'Ly, b'Lb, b'R^-1b, y'Ly and points less what the line takes.
    """
    rows = []
    for line in lines:
        pull, left = line.left @ line.bend, line.left @ line.y
        before = line.bend @ line.precision @ line.bend
        rows.append((pull @ line.y, pull @ line.bend, before, left @ line.y, float(line.free)))
    return np.array(rows).reshape(len(rows), 5)


def other_lines(numbers: Array, group_of: Index, groups: int) -> OtherLines:
    """Sum the numbers of lines by group.

    Args:
        numbers: Shape (lines, 5).
        group_of: Shape (lines,).
    """
    found, known, before, square = (
        np.asarray(np.bincount(group_of, column, groups), dtype=np.float64)
        for column in numbers[:, :4].T
    )
    return OtherLines(
        found=found, known=known, before=before, square=square, free=int(numbers[:, 4].sum())
    )


def own_line(points: FleetPoints, rows: Index) -> OwnLine:
    """Take the own line out of some points of one aircraft.

    Args:
        rows: Shape (n,).
    """
    x = curve_basis(points.x[rows], HIGHEST_ORDER)
    z = x[:, :DEPARTURE]
    precision = np.linalg.inv(points.error_covariance(rows))
    precision = (precision + precision.T) / 2.0
    weighed = precision @ z
    # as least squares does it, so that speeds that are all alike are no special case
    inner = np.linalg.pinv(z.T @ weighed, rcond=1e-10, hermitian=True)
    rank = int(np.linalg.matrix_rank(z.T @ weighed, tol=None, hermitian=True, rtol=1e-10))
    return OwnLine(
        rows=rows,
        sortie=points.sortie[rows],
        z=z,
        precision=precision,
        left=precision - weighed @ inner @ weighed.T,
        bend=x[:, HIGHEST_ORDER],
        y=points.y[rows],
        free=len(rows) - rank,
    )


def left_over(
    lines: tuple[OwnLine, ...], group_of: Index, bent: bool, others: OtherLines | None = None
) -> LeftOver:
    """Take the bend of each group out too.

    Args:
        lines: Of every aircraft.
        group_of: Shape (aircraft,).
        bent: Whether the curves have a bend.
        others: Of aircraft that belong to the groups as well.

    Returns:
        Residuals and precisions of `lines`; square and freedom of all.
    """
    groups = int(group_of.max()) + 1 if others is None else len(others.found)
    found, known, before = np.zeros(groups), np.zeros(groups), np.zeros(groups)
    if bent and others is not None:
        found, known, before = others.found.copy(), others.known.copy(), others.before.copy()
    if bent:
        for line, group in zip(lines, group_of, strict=True):
            found[group] += line.bend @ line.left @ line.y
            known[group] += line.bend @ line.left @ line.bend
            before[group] += line.bend @ line.precision @ line.bend
    determined = known > _NOTHING_LEFT * before
    coefficient = np.where(determined, found / np.where(determined, known, 1.0), 0.0)
    residual, precision, square, free = [], [], 0.0, 0
    if others is not None:
        theirs = others.square - 2.0 * coefficient * others.found + coefficient**2 * others.known
        square, free = float(theirs.sum()), others.free
    for line, group in zip(lines, group_of, strict=True):
        pull = line.left @ line.bend
        kept = line.left @ line.y - pull * coefficient[group]
        residual.append(kept)
        taken = np.outer(pull, pull) / known[group] if determined[group] else 0.0
        precision.append(line.left - taken)
        square += float(kept @ (line.y - line.bend * coefficient[group]))
    free += sum(line.free for line in lines) - int(determined.sum())
    return LeftOver(tuple(residual), tuple(precision), max(square, 0.0), free)


def left_by_others(line: OwnLine, precision: Array) -> Array:
    """Return which points the aircraft's other points say anything of.

    Args:
        precision (n, n): P of the aircraft.

    Returns:
        Shape (n,).
    """
    return np.asarray(np.diag(precision) > _NOTHING_LEFT * np.diag(line.precision))
