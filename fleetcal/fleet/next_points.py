"""Which points of one aircraft would narrow its own curve most: an optimal design.

What is known of an aircraft's own curve, at the spread that the fleet shows, is
the group's curve with the spread about it, and the aircraft's own sums. A
planned sortie adds X'R^-1X to the sums; wanted is the choice that leaves the
largest width least. The points may be split over sorties, as evenly as they go: each sortie has
an unknown common error of its own, and two make less of it than one. Where all choices can be
tried in a blink they are, and the plan is the best there is. For more points each is taken in turn
for what it helps most, and single points are exchanged as long as that helps: one point alone often
cannot lower the largest width, so that the first choice may be a poor one (V. V.
Fedorov, Theory of optimal experiments, 1972, for the construction and the exchange).

What a point is worth depends on its speed: see `usual_sortie`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain, combinations_with_replacement, islice, product
from math import comb, prod
from typing import Final

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.likelihood import weigh
from fleetcal.fleet.points import Array, Index
from fleetcal.fleet.pooled import PooledFit, spread_root
from fleetcal.fleet.usual_sortie import information_of, sortie_information

#: Choices that are all tried: a tenth of a second at most.
_MOST_TRIED: Final = 4_000
_AT_ONCE: Final = 10_000
_ROUNDS: Final = 8


@dataclass(frozen=True, kw_only=True)
class PlannedPoints:
    """Points in the order in which they help, and the widths they should leave.

    Attributes:
        chosen (count,): Places among the candidates; one may be flown several times.
        sortie (count,): In which each is flown, from 0.
        before (grid,): Standard deviation of the aircraft's own curve now.
        after (count, grid): The same after each of the chosen points.
    """

    chosen: Index
    sortie: Index
    before: Array
    after: Array


@dataclass(frozen=True, kw_only=True)
class _Task:
    """Widths that a choice leaves, and searches for the best choice.

    A choice is of seats: the candidates of the first sortie, then those of the second, and so on.
    """

    known: Array
    candidates: Array
    rows: Array
    scale: Array
    u_own: Array
    u_shared: Array
    sizes: tuple[int, ...]

    def seats(self, sortie: int) -> range:
        every = len(self.candidates)
        return range(sortie * every, (sortie + 1) * every)

    def widths(self, choices: Sequence[Sequence[int]]) -> Array:
        """Return the widths after each choice, shape (choices, grid)."""
        sortie, place = np.divmod(np.array(choices), len(self.candidates))
        basis, u_own, u_shared = (
            one[place] for one in (self.candidates, self.u_own, self.u_shared)
        )
        information = self.known + np.zeros((len(place), 1, 1))
        for number in range(len(self.sizes)):
            mine = np.where(sortie == number, u_own, np.inf)
            information += information_of(basis, mine, u_shared)
        return _deviation(information, self.rows)

    def best(self, choices: Sequence[Sequence[int]]) -> tuple[tuple[float, float], int]:
        """Return the choice with the least largest width, of equals the least of all together."""
        widths = self.widths(choices) * self.scale
        largest, together = np.round(widths.max(axis=1), 12), widths.sum(axis=1)
        place = int(np.lexsort((together, largest))[0])
        return (float(largest[place]), float(together[place])), place

    def largest(self, chosen: list[int]) -> tuple[float, float]:
        return self.best([chosen])[0]

    def of_all(self) -> list[int]:
        """Return the best of all choices."""
        each = [combinations_with_replacement(self.seats(s), n) for s, n in enumerate(self.sizes)]
        every = (tuple(chain(*parts)) for parts in product(*each))
        found: list[tuple[tuple[float, float], tuple[int, ...]]] = []
        while block := list(islice(every, _AT_ONCE)):
            value, place = self.best(block)
            found.append((value, block[place]))
        return list(min(found)[1])

    def in_turn(self) -> list[int]:
        """Take points one after another from each sortie, each time what helps most."""
        chosen = list[int]()
        for turn in range(max(self.sizes)):
            for sortie, size in enumerate(self.sizes):
                if turn < size:
                    seats = self.seats(sortie)
                    chosen.append(seats[self.best([[*chosen, k] for k in seats])[1]])
        return chosen

    def sorted_by_help(self, places: Iterable[int]) -> list[int]:
        """Return the places in the order in which they help most."""
        left, chosen = list(places), list[int]()
        while left:
            chosen.append(left.pop(self.best([[*chosen, k] for k in left])[1]))
        return chosen

    def spread(self) -> list[int]:
        """Return points equally spaced in every sortie."""
        last = len(self.candidates) - 1
        spaced = [np.rint(np.linspace(0, last, size)).astype(int) for size in self.sizes]
        return [self.seats(s)[k] for s, some in enumerate(spaced) for k in some.tolist()]

    def exchanged(self, start: list[int]) -> list[int]:
        """Exchange single points for better ones until none is left to exchange."""
        chosen = list(start)
        for _ in range(_ROUNDS):
            before = self.largest(chosen)
            for place, seat in enumerate(chosen):
                others = [*chosen[:place], *chosen[place + 1 :]]
                seats = self.seats(seat // len(self.candidates))
                tried = [[*others[:place], k, *others[place:]] for k in seats]
                chosen = tried[self.best(tried)[1]]
            if self.largest(chosen) >= before:
                break
        return chosen

    def found(self) -> list[int]:
        every = len(self.candidates)
        if prod(comb(every + size - 1, size) for size in self.sizes) <= _MOST_TRIED:
            return self.of_all()
        starts = (self.in_turn(), self.spread())
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
    known = total[:-1, :-1] + (0.0 if fit.ports is None else fit.ports)
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


@dataclass(frozen=True, kw_only=True)
class PointsToPlan:
    """Points that are to be chosen.

    Attributes:
        scale (grid,): By which a width counts: knots for each unit of y, for example.
        u_own (n,): Standard uncertainty of one point at each candidate.
        u_shared (n, terms): What the points of a sortie share.
        count: Points to choose.
        sorties: Over which they are split.
    """

    scale: Array
    u_own: Array
    u_shared: Array
    count: int
    sorties: int = 1


def plan_points(
    covariance: Array,
    candidates: Array,
    grid: Array,
    scale: Array,
    u_own: Array | float,
    u_shared: Array | float,
    count: int,
    sorties: int = 1,
) -> PlannedPoints:
    """Choose the points of one sortie, or of a few.

    Args:
        covariance (order + 1, order + 1): Of the aircraft's own curve, from `own_covariance`.
        candidates (n,): s that may be flown.
        grid (grid,): s at which the width counts.
        scale (grid,): By which a width counts there: knots for each unit of y, for example.
        u_own (n,), or float: Standard uncertainty of one point at each candidate.
        u_shared (n, terms), or float: What the points of a sortie share.
        count: Points to choose.
        sorties: Over which they are split.
    """
    shared = np.asarray(u_shared, dtype=np.float64)
    order = len(covariance) - 1
    wished = PointsToPlan(
        scale=scale,
        u_own=np.broadcast_to(np.asarray(u_own, dtype=np.float64), candidates.shape),
        u_shared=shared if shared.ndim else np.full((len(candidates), 1), shared),
        count=count,
        sorties=sorties,
    )
    return plan_rows(covariance, curve_basis(candidates, order), curve_basis(grid, order), wished)


def plan_rows(
    covariance: Array, candidates: Array, rows: Array, wished: PointsToPlan
) -> PlannedPoints:
    """Choose points as `plan_points`, of a curve that any basis makes.

    Args:
        covariance (p, p): Of the coefficients.
        candidates (n, p): The basis where points may be flown.
        rows (grid, p): The basis where the width counts.
    """
    task = _task(covariance, candidates, rows, wished)
    return _planned(task, task.found())


def spread_rows(
    covariance: Array, candidates: Array, rows: Array, wished: PointsToPlan
) -> PlannedPoints:
    """Return points equally spaced in every sortie, as `plan_rows`."""
    task = _task(covariance, candidates, rows, wished)
    return _planned(task, task.spread())


def _task(covariance: Array, candidates: Array, rows: Array, wished: PointsToPlan) -> _Task:
    return _Task(
        known=np.asarray(np.linalg.inv(covariance), dtype=np.float64),
        candidates=candidates,
        rows=rows,
        scale=wished.scale,
        u_own=wished.u_own,
        u_shared=wished.u_shared,
        sizes=split_evenly(wished.count, wished.sorties),
    )


def _planned(task: _Task, seats: Sequence[int]) -> PlannedPoints:
    chosen = task.sorted_by_help(seats)
    count, candidates = len(chosen), task.candidates
    sortie, place = np.divmod(np.array(chosen, dtype=np.int64), len(candidates))
    return PlannedPoints(
        chosen=place,
        sortie=sortie,
        before=_deviation(task.known[None], task.rows)[0],
        after=np.array([task.widths([chosen[: n + 1]])[0] for n in range(count)]),
    )


def split_evenly(count: int, parts: int) -> tuple[int, ...]:
    """Return how many of so many points each part gets, the larger first."""
    return tuple(count // parts + (part < count % parts) for part in range(parts))


@dataclass(frozen=True, kw_only=True)
class FlightToCome:
    """The points of a sortie that nobody has flown yet.

    Attributes:
        x, u_own (n,): As of `FleetPoints`.
        u_shared: Shape (n, terms).
    """

    x: Array
    u_own: Array
    u_shared: Array


def width_after(
    covariance: Array,
    lift: Array,
    grid: Array,
    u_own: Array | float,
    u_shared: Array | float,
    sorties: int = 1,
) -> Array:
    """Return the standard deviation of an aircraft's own curve after given points.

    Args:
        covariance: Shape (order + 1, order + 1).
        lift (n,): Points of one sortie.
        grid: Shape (grid,).
        u_own: Shape (n,), or float.
        u_shared: Shape (n, terms), or float.
        sorties: How many of them are flown, all alike.

    Returns:
        Shape (grid,).
    """
    order = len(covariance) - 1
    more = sorties * sortie_information(lift[None], order, u_own, u_shared)
    widths: Array = _deviation(np.linalg.inv(covariance) + more, curve_basis(grid, order))[0]
    return widths


def _deviation(information: Array, rows: Array) -> Array:
    """Return the standard deviation of each curve, shape (curves, grid)."""
    half = np.linalg.inv(information) @ rows.T
    return np.asarray(np.sqrt(np.einsum("xi,mix->mx", rows, half, optimize=True)))
