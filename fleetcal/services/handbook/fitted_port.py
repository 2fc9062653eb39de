"""A pooled curve as a relation that can be read both ways: IAS to CAS, and back by solving.

CAS of the curve is ias + correction(ias), worked out exactly at any airspeed. It
is solved for the airspeed only where it rises with airspeed and where enough
airframes flew; a table is never drawn longer than its points.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import FitError
from fleetcal.fleet.bands import Band
from fleetcal.fleet.fewest import FEWEST_AIRCRAFT
from fleetcal.services.curves.fitted_group import FittedGroup
from fleetcal.services.curves.speed_grid import (
    REACH_KT,
    bounded_correction_kt,
    lift_at,
    speed_correction_kt,
)

Spans = tuple[tuple[float, float], ...]

#: Distance of the airspeeds between which a solution is looked for, kt.
_STEP_KT: Final = 0.5
#: How far beyond the speeds flown the edge of a band may be looked for, kt.
_BEYOND_KT: Final = 10.0
_ROUNDS: Final = 6


@dataclass(frozen=True, kw_only=True)
class Solved:
    """Airspeeds that belong to given CAS; NaN where there is no answer.

    Attributes:
        ias_kt (n,): On the group's mean curve.
        mean_low_kt, mean_high_kt (n,): 95 % band of the mean curve, of the airspeed.
        next_low_kt, next_high_kt (n,): 95 % band for another aircraft, of the airspeed.
    """

    ias_kt: Array
    mean_low_kt: Array
    mean_high_kt: Array
    next_low_kt: Array
    next_high_kt: Array


@dataclass(frozen=True)
class FittedPort:
    """The pooled curve of a group, at the weight of its request."""

    fitted: FittedGroup

    @cached_property
    def spans(self) -> Spans:
        """Ranges of IAS, kt, rising, over which the curve is read both ways.

        Of one airframe, those that it flew itself and those of its group. Of a group that is large
        enough to be pooled, those of three airframes: its band is no guide where fewer flew.
        """
        fitted = self.fitted
        theirs = self._flown(fitted.group or fitted) if not fitted.airframe or fitted.group else ()
        if fitted.airframe is None:
            return theirs
        own = [row.speed_at(fitted.weight_kg) for row in fitted.known.rows]
        return joined_spans((*theirs, *(spans_flown([(min(own), max(own))], 1) if own else ())))

    def _flown(self, group: FittedGroup) -> Spans:
        weight = self.fitted.weight_kg
        speeds = ((row.airframe, row.speed_at(weight)) for row in group.rows)
        return spans_together(speeds, FEWEST_AIRCRAFT if group.check else 1)

    @cached_property
    def reach(self) -> tuple[float, float]:
        """Slowest and fastest IAS of the spans, kt."""
        if not self.spans:
            raise FitError(
                f"{self.fitted.called}: no speed was flown by {FEWEST_AIRCRAFT} airframes",
                "reduce flights of more airframes at the same speeds",
            )
        return self.spans[0][0], self.spans[-1][1]

    def flown(self, ias_kt: float) -> bool:
        """Tell whether enough airframes flew an airspeed."""
        return any(low <= ias_kt <= high for low, high in self.spans)

    def kappa(self, ias_kt: Array) -> Array:
        """Return kappa of the group's mean curve at airspeeds (n,)."""
        return self.fitted.fit.centre(self.fitted.number, self._lift(ias_kt))

    def cas_kt(self, ias_kt: Array) -> Array:
        """Return CAS of the group's mean at airspeeds (n,), kt."""
        return np.asarray(ias_kt + speed_correction_kt(ias_kt, self.kappa(ias_kt)))

    def cas_bands(self, ias_kt: Array) -> tuple[Band, Band]:
        """Return mean and next-aircraft band of CAS, kt, at airspeeds (n,)."""
        mean, following = self.fitted.bands(self._lift(ias_kt))
        return self._cas_band(ias_kt, mean), self._cas_band(ias_kt, following)

    def _lift(self, ias_kt: Array) -> Array:
        return lift_at(self.fitted.known.type, ias_kt, self.fitted.weight_kg)

    def _cas_band(self, ias_kt: Array, band: Band) -> Band:
        ends = (band.centre, band.low, band.high)
        return Band(*(ias_kt + bounded_correction_kt(ias_kt, end) for end in ends))

    @cached_property
    def _grid(self) -> Array:
        """Airspeeds over the speeds flown and a little beyond."""
        low, high = self.reach
        return np.arange(max(low - _BEYOND_KT, 5.0), high + _BEYOND_KT + _STEP_KT, _STEP_KT)

    @cached_property
    def _mean_edges(self) -> Band:
        return self._cas_band(self._grid, self.fitted.mean_band(self._lift(self._grid)))

    @cached_property
    def _next_edges(self) -> Band:
        if self.fitted.airframe is not None:
            return self._mean_edges
        return self._cas_band(self._grid, self.fitted.next_band(self._lift(self._grid)))

    def solve(self, cas_kt: Array) -> Solved:
        """Return the airspeeds that show given CAS.

        Args:
            cas_kt: Shape (n,).

        Returns:
            NaN where the curve reaches the CAS at no airspeed that was flown. The edge of a band
            may lie up to 10 kt beyond the speeds flown.

        Raises:
            FitError: If CAS does not rise with IAS over the speeds flown, so that one CAS could be
                shown at two airspeeds, or no speed was flown by enough airframes.
        """
        ias, next_low, next_high = self.solve_next(cas_kt)
        mean_low, mean_high = self._within(self._mean_edges, cas_kt)
        return Solved(
            ias_kt=ias,
            mean_low_kt=mean_low,
            mean_high_kt=mean_high,
            next_low_kt=next_low,
            next_high_kt=next_high,
        )

    def solve_next(self, cas_kt: Array) -> tuple[Array, Array, Array]:
        """As `solve`, without the band of the mean: airspeed, and its band for another aircraft."""
        centre = self._solve_mean(cas_kt)
        centre = np.where([self.flown(float(v)) for v in centre], centre, np.nan)
        return centre, *self._within(self._next_edges, cas_kt)

    def _within(self, edges: Band, cas_kt: Array) -> tuple[Array, Array]:
        """Return the airspeeds that show CAS at the edges of a band."""
        # Where the correction may be larger, the same CAS is shown at a lower airspeed.
        return _crossing(self._grid, edges.high, cas_kt), _crossing(self._grid, edges.low, cas_kt)

    @cached_property
    def _rising(self) -> tuple[Array, Array, Array]:
        """Airspeeds flown, CAS there, and how fast it rises.

        Raises:
            FitError: If it does not.
        """
        low, high = self.reach
        grid = np.linspace(low, high, max(int((high - low) / _STEP_KT), 1) + 1)
        values = self.cas_kt(grid)
        if np.any(np.diff(values) <= 0.0):
            raise FitError(
                f"{self.fitted.called}: the calibrated airspeed does not rise with the indicated "
                f"one everywhere from {low:.0f} to {high:.0f} kt, so no airspeed can be solved for",
                "look at the curve; ask for a lower order with --order, or reduce more flights",
            )
        return grid, values, np.gradient(values, grid)

    def _solve_mean(self, cas_kt: Array) -> Array:
        low, high = self.reach
        grid, values, slope = self._rising
        ias = np.interp(cas_kt, values, grid)
        for _ in range(_ROUNDS):  # the slope is nearly right: each round gains digits
            ias = np.clip(
                ias + (cas_kt - self.cas_kt(ias)) / np.interp(ias, grid, slope), low, high
            )
        off = (cas_kt < values[0] - 1e-9) | (cas_kt > values[-1] + 1e-9)
        return np.asarray(np.where(off, np.nan, ias))


def span_flown(
    speeds: Iterable[tuple[str, float]], hint: str, fewest: int = FEWEST_AIRCRAFT
) -> tuple[float, float]:
    """Return the slowest and fastest speed that enough airframes flew, kt.

    Args:
        speeds: Airframe and speed of each measurement.
        hint: What to do where there is none.

    Raises:
        FitError: If no speed was flown by three airframes.
    """
    spans = spans_together(speeds, fewest)
    if not spans:
        raise FitError("no speed was flown by three airframes", hint)
    return spans[0][0], spans[-1][1]


def spans_together(speeds: Iterable[tuple[str, float]], fewest: int = FEWEST_AIRCRAFT) -> Spans:
    """Return where enough airframes flew, as `spans_flown`.

    Args:
        speeds: Airframe and speed of each measurement, kt.
    """
    flown: dict[str, list[float]] = {}
    for airframe, speed in speeds:
        flown.setdefault(airframe, []).append(speed)
    return spans_flown([(min(own), max(own)) for own in flown.values()], fewest)


def spans_flown(ranges: list[tuple[float, float]], fewest: int = FEWEST_AIRCRAFT) -> Spans:
    """Return where the ranges of enough airframes overlap.

    Args:
        ranges (list of (slowest, fastest)): One an airframe, kt; each reaches a little beyond its
            points.

    Returns:
        Tuple of (low, high): Rising.
    """
    ends = sorted(
        [(low - REACH_KT, -1) for low, _ in ranges] + [(high + REACH_KT, 1) for _, high in ranges]
    )
    spans: list[tuple[float, float]] = []
    flying, begun = 0, 0.0
    for speed, end in ends:
        before, flying = flying, flying - end
        if before < fewest <= flying:
            begun = speed
        elif flying < fewest <= before:
            if spans and begun - spans[-1][1] <= 0.0:
                spans[-1] = (spans[-1][0], speed)
            else:
                spans.append((begun, speed))
    return tuple(spans)


def joined_spans(spans: Spans) -> Spans:
    """Return the union of ranges, rising."""
    joined: list[tuple[float, float]] = []
    for low, high in sorted(spans):
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return tuple(joined)


def _crossing(grid: Array, values: Array, cas_kt: Array) -> Array:
    """Return where an edge of a band reaches CAS; NaN where it does not, or does not rise."""
    if np.any(np.diff(values) <= 0.0):
        return np.full(cas_kt.shape, np.nan)
    return np.interp(cas_kt, values, grid, left=np.nan, right=np.nan)
