"""Fits that airframes flew several sorties in, summed once for any number of changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from fleetcal.fleet.points import FleetPoints, Index
from fleetcal.fleet.pooled import PooledFit, fit_sums
from fleetcal.fleet.shared_pool import SharedPool
from fleetcal.fleet.sums import AircraftSums, aircraft_sums, joined_sums
from fleetcal.services.curves.pooled_point import PooledPoint, fleet_points
from fleetcal.services.curves.quantity import PoolBasis

Rows = Sequence[PooledPoint]


class RepeatedFits:
    """All fits of a type in which one airframe flew more than one sortie.

    Args:
        flown (sequence of (tag, points)): Of one airframe in one fit each.
    """

    def __init__(self, basis: PoolBasis, flown: Sequence[tuple[str, Rows]]) -> None:
        points, self._counts = sorties_of([rows for _, rows in flown])
        self._sums = aircraft_sums(points)
        self._tags = [tag for tag, _ in flown]
        self._orders = [order_of(basis, rows) for _, rows in flown]
        self._at: dict[int, FitsOfOrder] = {}

    def at(self, order: int) -> FitsOfOrder:
        """Return those whose speeds carry a curve of an order."""
        if order not in self._at:
            kept = [place for place, own in enumerate(self._orders) if own >= order]
            counts = [self._counts[place] for place in kept]
            owner = np.repeat(np.arange(len(self._counts)), self._counts)
            sums = self._sums.select(np.flatnonzero(np.isin(owner, kept))).with_order(order)
            sums = replace(sums, group_of=np.repeat(np.arange(len(kept)), counts))
            self._at[order] = FitsOfOrder([self._tags[place] for place in kept], counts, sums)
        return self._at[order]


class FitsOfOrder:
    """Repeated fits with the sums that curves of one order need.

    Args:
        tags: Of the airframe of each fit.
        counts: Sorties of each.
        sums: Its sorties are the units.
    """

    def __init__(self, tags: list[str], counts: list[int], sums: AircraftSums) -> None:
        self.tags, self.counts, self.sums = tags, counts, sums
        self._own: dict[str, list[int]] = {}
        for place, tag in enumerate(tags):
            self._own.setdefault(tag, []).append(place)

    @cached_property
    def pool(self) -> SharedPool:
        """What all of them tell."""
        return SharedPool(self.sums)

    def without(self, tags: Sequence[str]) -> OtherFits:
        """Return the fits of other airframes than some."""
        leaving = [place for tag in tags for place in self._own.get(tag, [])]
        return OtherFits(self, np.array(sorted(leaving), dtype=np.int64))


@dataclass(frozen=True)
class OtherFits:
    """The repeated fits of a type but for some airframes' own.

    Attributes:
        leaving: Places of those airframes' own fits.
    """

    of: FitsOfOrder
    leaving: Index

    @property
    def sorties(self) -> list[int]:
        """How many sorties each fit has."""
        return np.delete(np.array(self.of.counts, dtype=np.int64), self.leaving).tolist()

    def fit(self, sides: AircraftSums) -> PooledFit:
        """Fit the sides of changes with these fits.

        Args:
            sides: Of the order; groups numbered from 0.

        Raises:
            FitError: If the points of a side do not determine its curve.
        """
        shared = self.of.pool.fit(sides, self.leaving)
        if shared is not None:
            return shared
        first = int(sides.group_of.max()) + 1
        rest = self.of.sums.select(np.flatnonzero(~np.isin(self.of.sums.group_of, self.leaving)))
        rest = replace(rest, group_of=first + np.unique(rest.group_of, return_inverse=True)[1])
        groups = first + len(self.of.counts) - len(self.leaving)
        return fit_sums(
            joined_sums([sides, rest]), groups, likely_alike=True, averaged_groups=first
        )


def sorties_of(groups: Sequence[Rows]) -> tuple[FleetPoints, list[int]]:
    """Return the points of each group, a unit for every sortie, and how many sorties each has."""
    units: dict[tuple[int, int], int] = {}
    rows, unit_of, group_of = [], [], []
    for group, members in enumerate(groups):
        for row in members:
            key = (group, row.sortie_id)
            if key not in units:
                units[key] = len(units)
                group_of.append(group)
            rows.append(row)
            unit_of.append(units[key])
    counts = np.bincount(np.array(group_of, dtype=np.int64), minlength=len(groups)).tolist()
    return fleet_points(rows, unit_of, group_of), counts


def order_of(basis: PoolBasis, rows: Rows) -> int:
    """Return the highest order that the speeds of one side carry."""
    return basis.order_of(fleet_points(rows, [0] * len(rows), [0]))
