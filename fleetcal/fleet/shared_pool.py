"""Repeated fits that many changes are held against, summed once for all of them.

Each change asks what its own sides are, and how much sorties of one fit differ in all airframes
but its own. The likelihood of groups is a sum, so that what all tell, less what the airframe's
own groups tell, is what the others tell: at any D and phi, and to the last digits of a number.

With D = phi Delta every variance is in proportion to phi, and the -2 log likelihood is
A(Delta) + free log phi + M(Delta) / phi. A and M of the pool are worked out once, on one grid of
Delta about the spread that all tell; each change takes its own groups' away, and has its own phi
and its own prior. A grid of the others alone would lie about their own best value: where that is
less than half a standard error away, both give the same answers but for a ten-thousandth of the
band, mostly for less than a millionth. The best D and phi of each are found by Newton's steps
from those of all, with the second derivatives of all. Where either fails, the change is fitted by
itself.

``python -m tests.bench.change_checks`` shows how the time grows with the airframes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.likelihood import (
    departure_columns,
    deviance_slope,
    group_sums,
    lower_triangle,
)
from fleetcal.fleet.other_groups import evidence_apart, free_of_groups
from fleetcal.fleet.points import Array, Index
from fleetcal.fleet.pooled import Learnt, PooledFit, fit_sums, search_start
from fleetcal.fleet.search import departure_scale, log_phi_limit, require_determined
from fleetcal.fleet.spread_grid import (
    SpreadGrid,
    grid_scale,
    own_variances,
    scale_errors,
    spread_grid,
)
from fleetcal.fleet.sums import AircraftSums

#: Step of the differences of slopes that give the second derivatives.
_STEP: Final = 1e-4
#: Smallest second derivative, as a share of the largest, that Newton's steps trust.
_FLATTEST: Final = 1e-7
#: Newton's steps at most, the largest that is taken, and the one at which they end.
_MOST_STEPS: Final = 12
_FARTHEST: Final = 1.0
_SMALLEST: Final = 1e-7
#: Entry on the diagonal of L that may be zero.
_NEAR_ZERO: Final = 1e-3
#: Standard errors of log sd by which a grid's best value may be off.
_OFF: Final = 0.5


@dataclass(frozen=True)
class _Top:
    """Where the likelihood is highest, and how it falls off about it.

    Attributes:
        theta: Entries of L and log phi, in units of `scale`.
        slope: Of the deviance of all groups there.
        curvature: Second derivatives of that deviance.
    """

    theta: Array
    slope: Array
    scale: Array
    curvature: Array


class SharedPool:
    """The sums of groups that tell together how much their units differ.

    Args:
        sums: Of the order of the curves; groups numbered from 0, each with two units or more.
    """

    def __init__(self, sums: AircraftSums) -> None:
        self.sums = sums
        self.groups = int(sums.group_of.max()) + 1 if len(sums.group_of) else 0
        self.size = departure_columns(sums.products.shape[1] - 2)

    def fit(self, sides: AircraftSums, leaving: Index) -> PooledFit | None:
        """Fit groups of an airframe with all groups but its own.

        Args:
            sides: Groups numbered from 0.
            leaving: Which groups of the pool are the airframe's own.

        Returns:
            The fit of the sides; None where they must be fitted by themselves.

        Raises:
            FitError: If the points of a side do not determine its curve.
        """
        require_determined(sides, int(sides.group_of.max()) + 1)
        if self._all is None or self._top is None:
            return None
        gone = np.flatnonzero(np.isin(self.sums.group_of, leaving))
        own = self.sums.select(gone)
        own = replace(own, group_of=np.unique(own.group_of, return_inverse=True)[1])
        try:
            top = self._walked(self._top, [(1.0, sides), (-1.0, own)])
            return None if top is None else self._fit_at(top, sides, gone)
        except np.linalg.LinAlgError:
            return None

    @cached_property
    def _all(self) -> PooledFit | None:
        try:
            return fit_sums(self.sums, self.groups, likely_alike=True) if self.groups else None
        except FitError:
            return None

    @cached_property
    def _top(self) -> _Top | None:
        """None where the likelihood of all is not highest at a point of its own."""
        assert self._all is not None  # asked before
        scale = np.r_[departure_scale(self.sums, self.groups, self.size), 1.0]
        theta = search_start(self._all) / scale
        theta[-1] = max(float(theta[-1]), 0.0)
        slopes = [
            self._slope(self.sums, theta + step, scale)
            - self._slope(self.sums, theta - step, scale)
            for step in _STEP * np.eye(len(theta))
        ]
        curvature = np.array(slopes) / (2.0 * _STEP)
        curvature = (curvature + curvature.T) / 2.0
        flat = np.linalg.eigvalsh(curvature)
        if not flat[0] > _FLATTEST * flat[-1] or not log_phi_limit(self.sums, self.size):
            return None
        start = _Top(theta, self._slope(self.sums, theta, scale), scale, curvature)
        return self._walked(start, [])

    @cached_property
    def _grid(self) -> SpreadGrid:
        """Nodes of Delta."""
        assert self._all is not None  # asked before
        scaled = self._all.spread / self._all.phi
        return spread_grid(self.sums, self.size, 1.0, scaled, likely_alike=True)

    @cached_property
    def _apart(self) -> tuple[Array, Array]:
        """A and M of all groups at the nodes."""
        return evidence_apart(self.sums, self._grid.spread)

    @cached_property
    def _variance(self) -> Array:
        return own_variances(self.sums, self.size, 1.0)

    def _walked(self, start: _Top, others: Sequence[tuple[float, AircraftSums]]) -> _Top | None:
        """Return where the likelihood of all and of others is highest; None where it is far off.

        Args:
            others: With 1 to count them too, with -1 to take them away.
        """
        at, slope, curvature = start.theta, start.slope, start.curvature
        step = before = np.zeros(len(at))
        for _ in range(_MOST_STEPS):
            down = slope.copy()
            for sign, sums in others:
                down += sign * self._slope(sums, at, start.scale)
            curvature = _learnt(curvature, step, down - before)
            free = np.ones(len(at), dtype=bool)
            free[-1] = at[-1] > 0.0 or down[-1] < 0.0
            step, before = np.zeros(len(at)), down
            step[free] = -np.linalg.solve(curvature[np.ix_(free, free)], down[free])
            step[-1] = max(step[-1], -at[-1])
            if not np.abs(step).max() < _FARTHEST:
                return None
            if np.abs(step).max() < _SMALLEST:
                top = replace(start, theta=at, slope=slope)
                return top if self._rises(start, at, others) else None
            at = at + step
            slope = self._slope(self.sums, at, start.scale)
        return None

    def _rises(self, start: _Top, at: Array, others: Sequence[tuple[float, AircraftSums]]) -> bool:
        """Tell whether the deviance rises from zeros on the diagonal of L, where it is even."""
        rows, columns = np.tril_indices(self.size)
        for place in np.flatnonzero(rows == columns):
            if abs(at[place]) > _NEAR_ZERO:
                continue
            lifted = at.copy()
            lifted[place] = _STEP
            if at is start.theta:
                rise = _STEP * start.curvature[place, place]
            else:
                rise = self._slope(self.sums, lifted, start.scale)[place]
            for sign, sums in others:
                rise += sign * self._slope(sums, lifted, start.scale)[place]
            if rise <= 0.0:
                return False
        return True

    def _slope(self, sums: AircraftSums, theta: Array, scale: Array) -> Array:
        """Return the derivative of the deviance of groups by theta."""
        if not len(sums.group_of):
            return np.zeros(len(theta))
        groups = int(sums.group_of.max()) + 1
        root = lower_triangle((theta * scale)[:-1], self.size)
        solved = group_sums(sums, root, float(np.exp(theta[-1])), groups)
        return deviance_slope(sums, solved, root) * scale

    def _fit_at(self, top: _Top, sides: AircraftSums, gone: Index) -> PooledFit | None:
        """Return the fit of an airframe's sides at its best D and phi; None if no node is near."""
        root = lower_triangle((top.theta * top.scale)[:-1], self.size)
        spread, phi = root @ root.T, float(np.exp(top.theta[-1]))
        variance = np.concatenate(
            [np.delete(self._variance, gone, axis=0), own_variances(sides, self.size, 1.0)]
        )
        if not self._near(variance, spread / phi):
            return None
        grid = self._grid.likely_alike(variance)
        own = self.sums.select(gone)
        logs, misfit = evidence_apart(own, grid.spread)
        free = free_of_groups(self.sums) - free_of_groups(own)
        evidence = self._apart[0] - logs + free * np.log(phi) + (self._apart[1] - misfit) / phi
        groups = int(sides.group_of.max()) + 1
        solved = group_sums(sides, root, phi, groups)
        return PooledFit(
            order=sides.products.shape[1] - 2,
            beta=solved.beta,
            spread=spread,
            phi=phi,
            solved=solved,
            sums=sides,
            likely_alike=True,
            learnt=Learnt(replace(grid, spread=phi * grid.spread), evidence),
        )

    def _near(self, variance: Array, found: Array) -> bool:
        """Tell whether the nodes lie about the best value of others than some as of all."""
        assert self._all is not None  # asked before
        about = grid_scale(self._variance, self._all.spread / self._all.phi)
        own, errors = grid_scale(variance, found), scale_errors(variance, about)
        return all(
            abs(np.log(one / other)) < _OFF * error
            for one, other, error in zip(own, about, errors, strict=True)
        )


def _learnt(curvature: Array, step: Array, change: Array) -> Array:
    """Return second derivatives that explain how the slope changed: the symmetric update of rank 1.

    Source: J. Nocedal, S. J. Wright, Numerical Optimization (2006), 6.2, from memory.
    """
    missed = change - curvature @ step
    along = float(missed @ step)
    if abs(along) <= 1e-8 * float(np.linalg.norm(missed) * np.linalg.norm(step)):
        return curvature
    return np.asarray(curvature + np.outer(missed, missed) / along)
