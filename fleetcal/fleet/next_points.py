"""Which points of one aircraft would narrow its own curve most: an optimal design.

What is known of an aircraft's own curve, at the spread that the fleet shows, is
the group's curve with the spread about it, and the aircraft's own sums. A
planned point adds x x'/u^2 to the sums; wanted is the choice that leaves the
largest width least. Where all choices can be tried in a blink they are, and the
plan is the best there is. For more points each is taken in turn for what it helps
most, and single points are exchanged as long as that helps: one point alone often
cannot lower the largest width, so that the first choice may be a poor one (V. V.
Fedorov, Theory of optimal experiments, 1972, for the construction and the exchange).

What a point is worth depends on its speed: an airspeed known to so many knots is a kappa
known the better the faster it was flown. That is learnt from the fleet's own points.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement, islice
from math import comb
from typing import Final

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.likelihood import weigh
from fleetcal.fleet.points import Array, Index
from fleetcal.fleet.pooled import PooledFit, spread_root

#: Choices that are all tried: half a second at most.
_MOST_TRIED: Final = 60_000
_AT_ONCE: Final = 10_000
_ROUNDS: Final = 8


@dataclass(frozen=True)
class PlannedPoints:
    """Points in the order in which they help, and the widths they should leave.

    Attributes:
        chosen (count,): Places among the candidates; one may be flown several times.
        before (grid,): Standard deviation of the aircraft's own curve now.
        after (count, grid): The same after each of the chosen points.
    """

    chosen: Index
    before: Array
    after: Array


@dataclass(frozen=True, kw_only=True)
class _Task:
    """Widths that a choice of candidates leaves, and searches for the best choice."""

    known: Array
    candidates: Array
    rows: Array
    scale: Array
    u_own: Array
    u_shared: float

    def widths(self, choices: Sequence[Sequence[int]]) -> Array:
        """Return the widths after each choice, shape (choices, grid)."""
        lift, u_own = self.candidates[np.array(choices)], self.u_own[np.array(choices)]
        more = sortie_information(lift, len(self.known) - 1, u_own, self.u_shared)
        return _deviation(self.known + more, self.rows)

    def best(self, choices: Sequence[Sequence[int]]) -> tuple[tuple[float, float], int]:
        """Return the choice with the least largest width, of equals the least of all together."""
        widths = self.widths(choices) * self.scale
        largest, together = np.round(widths.max(axis=1), 12), widths.sum(axis=1)
        place = int(np.lexsort((together, largest))[0])
        return (float(largest[place]), float(together[place])), place

    def largest(self, chosen: list[int]) -> tuple[float, float]:
        return self.best([chosen])[0]

    def of_all(self, count: int) -> list[int]:
        """Return the best of all choices."""
        every = combinations_with_replacement(range(len(self.candidates)), count)
        found: list[tuple[tuple[float, float], tuple[int, ...]]] = []
        while block := list(islice(every, _AT_ONCE)):
            value, place = self.best(block)
            found.append((value, block[place]))
        return list(min(found)[1])

    def in_turn(self, places: Iterable[int], count: int, once: bool = False) -> list[int]:
        """Take `count` of the places one after another, each time what helps most."""
        left, chosen = list(places), list[int]()
        while len(chosen) < count:
            place = self.best([[*chosen, k] for k in left])[1]
            chosen.append(left[place])
            if once:
                left.pop(place)
        return chosen

    def exchanged(self, start: list[int]) -> list[int]:
        """Exchange single points for better ones until none is left to exchange."""
        chosen = list(start)
        for _ in range(_ROUNDS):
            before = self.largest(chosen)
            for place in range(len(chosen)):
                others = [*chosen[:place], *chosen[place + 1 :]]
                tried = [[*others, k] for k in range(len(self.candidates))]
                chosen = tried[self.best(tried)[1]]
            if self.largest(chosen) >= before:
                break
        return chosen

    def found(self, count: int) -> list[int]:
        every = len(self.candidates)
        if comb(every + count - 1, count) <= _MOST_TRIED:
            return self.of_all(count)
        spread = np.rint(np.linspace(0, every - 1, count)).astype(int).tolist()
        starts = (self.in_turn(range(every), count), spread)
        return min((self.exchanged(start) for start in starts), key=self.largest)


def own_covariance(fit: PooledFit, group: int, aircraft: int | None) -> Array:
    """Return the covariance of an aircraft's own curve, as `own_curve`.

    Returns:
        Shape (order + 1, order + 1).

    Raises:
        FitError: If the others of the group do not determine its curve.
    """
    return own_curve(fit, group, aircraft)[1]


def own_curve(fit: PooledFit, group: int, aircraft: int | None) -> tuple[Array, Array]:
    """Return an aircraft's own curve, given the averaged spread, and its covariance.

    Args:
        aircraft: Number in the fit; None for one that has not flown yet.

    Returns:
        coefficients (order + 1,): What the others of the group and its own points say together.
        covariance (order + 1, order + 1): Shape (order + 1, order + 1).

    Raises:
        FitError: If the others of the group do not determine its curve.
    """
    spread = fit.averaged.mean_spread()
    size = len(spread)
    products = fit.sums.products / fit.phi
    others = np.flatnonzero(fit.sums.group_of == group)
    others = others[others != aircraft] if aircraft is not None else others
    weighted, _ = weigh(fit.sums.select(others), spread_root(spread), fit.phi)
    total = weighted.sum(axis=0)
    known = total[:-1, :-1]
    if np.linalg.cond(known) > 1e14:
        raise FitError(
            "the other aircraft of the group do not determine its curve",
            "fly more aircraft, or ask for a lower order",
        )
    centre = np.asarray(np.linalg.solve(known, total[:-1, -1]))
    prior = np.asarray(np.linalg.inv(known))
    prior[:size, :size] += spread
    if aircraft is None:
        return centre, prior
    certain = np.linalg.inv(prior)
    own = np.asarray(np.linalg.inv(certain + products[aircraft, :-1, :-1]))
    return np.asarray(own @ (certain @ centre + products[aircraft, :-1, -1])), own


def plan_points(
    covariance: Array,
    candidates: Array,
    grid: Array,
    scale: Array,
    u_own: Array | float,
    u_shared: float,
    count: int,
) -> PlannedPoints:
    """Choose the points of one sortie.

    Args:
        covariance (order + 1, order + 1): Of the aircraft's own curve, from `own_covariance`.
        candidates (n,): s that may be flown.
        grid (grid,): s at which the width counts.
        scale (grid,): By which a width counts there: knots for each unit of y, for example.
        u_own (n,), or float: Standard uncertainty of one point at each candidate.
        u_shared: What all points of the sortie share.
        count: Points to choose.
    """
    rows = curve_basis(grid, len(covariance) - 1)
    u = np.broadcast_to(np.asarray(u_own, dtype=np.float64), candidates.shape)
    known = np.asarray(np.linalg.inv(covariance), dtype=np.float64)
    task = _Task(
        known=known, candidates=candidates, rows=rows, scale=scale, u_own=u, u_shared=u_shared
    )
    chosen = task.in_turn(task.found(count), count, once=True)
    after = [task.widths([chosen[: n + 1]])[0] for n in range(count)]
    before = _deviation(known[None], rows)[0]
    return PlannedPoints(np.array(chosen, dtype=np.int64), before, np.array(after))


def width_after(
    covariance: Array, lift: Array, grid: Array, u_own: Array | float, u_shared: float
) -> Array:
    """Return the standard deviation of an aircraft's own curve after given points.

    Args:
        covariance: Shape (order + 1, order + 1).
        lift (n,): Points of one sortie.
        grid: Shape (grid,).
        u_own: Shape (n,), or float.

    Returns:
        Shape (grid,).
    """
    order = len(covariance) - 1
    more = sortie_information(lift[None], order, u_own, u_shared)
    widths: Array = _deviation(np.linalg.inv(covariance) + more, curve_basis(grid, order))[0]
    return widths


def sortie_information(lift: Array, order: int, u_own: Array | float, u_shared: float) -> Array:
    """Return what the points of a sortie add to the inverse covariance of the curve.

    Args:
        lift (choices, n): Points of each of several sorties.
        u_own: Broadcastable to `lift`.
        u_shared: One unknown value for all points of a sortie; applied by Woodbury's identity.

    Returns:
        Shape (choices, order + 1, order + 1).
    """
    x = curve_basis(lift.ravel(), order).reshape(*lift.shape, order + 1)
    weight = np.broadcast_to(np.asarray(u_own, dtype=np.float64) ** -2.0, lift.shape)
    weighted = weight[..., None] * x
    total, all_weight = weighted.sum(axis=1), weight.sum(axis=1)
    lost = u_shared**2 / (1.0 + u_shared**2 * all_weight)
    own = np.swapaxes(weighted, 1, 2) @ x
    return np.asarray(own - lost[:, None, None] * total[:, :, None] * total[:, None, :])


def _deviation(information: Array, rows: Array) -> Array:
    """Return the standard deviation of each curve, shape (choices, grid)."""
    half = np.linalg.inv(information) @ rows.T
    return np.asarray(np.sqrt(np.einsum("xi,mix->mx", rows, half, optimize=True)))
