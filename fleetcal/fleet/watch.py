"""Whether, when and by how much the error of one airframe changed, from its flights in order.

After each flight every place of a step in level is looked at: `flight_sums` gives the step with
its chance, averaged over how much flights may scatter with that step in the model. An alarm is
raised at the first flight after which a step is less likely than `LIMIT` by itself. That is one
false alarm in 200 series of fifty flights, for all places and after every flight
(`scan_chance`). A step must also show, with a chance below one in ten thousand, without any one
of the flights: days have heavier tails than a normal curve, and one flight far off next to a
good one was called a change in 0.9 % of series of forty flights. An alarm stays raised whatever
is flown later.

A change is dated anew with every flight, at last by all: the places are weighed by their
likelihood, and the smallest set that holds 95 % is told. With that step in the model the
flights after the alarm are looked at again, with half the chance, and again, up to three changes.
The size comes from a step of level and tilt; the tilt has a prior of standard deviation 0.1 per
unit of s, as of any change of equipment.

Measured by ``python -m tests.fleet.simulations watch`` (1000 seasons a line) on flights with
heavy tails, errors that hang together, a knee in the curve and days that differ by 0.4 kt: false
alarms in 0.0, 0.0 and 0.4 % (+- 0.2) of seasons of 12, 20 and 40 flights, 0.3 % where days differ
by 0.8 kt. A change of 3 kt after six flights or more is found within five flights in 92.8 % (+-
0.8), dated to within one flight in 92.6 %; within three in 70 %; where days differ by 0.8 kt,
within five in 61 % (+- 1.5). Of changes found, the set of places holds the truth in 98 to 99 %,
the band of the size in 91 % at 70 kt and 94 to 97 % at 100 and 130 kt. What falls short: a
p-value below 5 % comes in 5.5, 7 and 11.5 % of clean seasons of 12, 20 and 40 flights (6.8 % where
flights are as supposed), and with days of heavy tails a flight is marked by itself in 5 to 19 %
of seasons, in 0.8 % where they are as supposed. `LIMIT` and `CONFIRMED` were chosen on other
seeds than these.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from fleetcal.fleet.flight_sums import (
    Extra,
    FlightSums,
    Tried,
    flight_sums,
    solve,
    try_levels,
)
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.scan_chance import FEWEST_A_SIDE, FEWEST_FLIGHTS, chance_of_any

#: Two-sided chance of a step by itself below which an alarm is raised.
LIMIT: Final = 2.45e-5
#: Flights for which that is one false alarm in `SERIES` series.
HORIZON: Final = 50
SERIES: Final = 200
#: What a step must stay below without any one of the flights.
CONFIRMED: Final = 1e-4
MOST_CHANGES: Final = 3
_WITHOUT_END: Final = 1_000_000
_STEP_PRECISION: Final = 1.0


@dataclass(frozen=True, kw_only=True)
class FoundChange:
    """A change of the error.

    Attributes:
        flight: First flight after it, numbered from 0.
        earliest, latest: Of the flights that may be the first after it, at 95 %.
        raised_by: Flight after which the alarm was raised.
        single: Two-sided chance of the step by itself when the alarm was raised.
    """

    flight: int
    earliest: int
    latest: int
    raised_by: int
    single: float


@dataclass(frozen=True, kw_only=True)
class WatchedFlights:
    """What a series of flights shows.

    Attributes:
        changes: In order of flights.
        single: Least chance by itself of any step looked at without a change in the model; 1 for a
            series too short.
        p_value: Chance that as unlikely a step shows in a clean series of so many flights.
        false_alarm: Chance that a clean series of so many flights raises any alarm.
        odd: Flights that differ from the others by themselves.
        more: Whether there are more changes than are dated.
    """

    sums: FlightSums
    changes: tuple[FoundChange, ...]
    single: float
    p_value: float
    false_alarm: float
    odd: tuple[int, ...]
    more: bool

    @property
    def dated_by(self) -> int:
        """First flights that dates and sizes rest on: all, but where more changes follow."""
        last = max((one.raised_by for one in self.changes), default=0)
        return last + 1 if self.more else self.sums.flights

    @property
    def long_enough(self) -> bool:
        """Whether there are enough flights for a verdict."""
        return self.sums.flights >= FEWEST_FLIGHTS


def watch_flights(points: FleetPoints) -> WatchedFlights:
    """Look for changes in a series of flights.

    Args:
        points: Of one airframe; its "aircraft" are the flights in their order.
    """
    sums = flight_sums(points)
    changes: list[FoundChange] = []
    single, alarm = _first_alarm(sums, changes, LIMIT)
    while alarm is not None and len(changes) < MOST_CHANGES:
        # by the flights so far: later ones may have another change in them
        changes = _dated(sums, [*changes, alarm], alarm.raised_by + 1)
        _, alarm = _first_alarm(sums, changes, LIMIT / 2.0 ** len(changes))
    if alarm is None:
        changes = _dated(sums, changes, sums.flights)
    weight = 1.0 / (sums.alone**2 + _scatter(sums) ** 2)
    return WatchedFlights(
        sums=sums,
        changes=tuple(sorted(changes, key=lambda change: change.flight)),
        single=single,
        p_value=chance_of_any(single, weight) if single < 1.0 else 1.0,
        false_alarm=chance_of_any(LIMIT, weight) if single < 1.0 else 0.0,
        odd=_odd(sums, changes),
        more=alarm is not None,
    )


def _steps(changes: Sequence[FoundChange]) -> list[Extra]:
    return [Extra(one.flight, _WITHOUT_END, precision=_STEP_PRECISION) for one in changes]


def _first_alarm(
    sums: FlightSums, known: Sequence[FoundChange], limit: float
) -> tuple[float, FoundChange | None]:
    """Return the least chance of any step, and the first alarm."""
    least = 1.0
    first = max((max(one.raised_by, one.flight) + 2 for one in known), default=FEWEST_FLIGHTS)
    for flown in range(first, sums.flights + 1):
        then = _dated(sums, known, flown)
        places = [
            k
            for k in range(FEWEST_A_SIDE, flown - FEWEST_A_SIDE + 1)
            if all(abs(k - one.flight) >= FEWEST_A_SIDE for one in then)
        ]
        if not places:
            continue
        chance = step_chances(_tried(sums, then, places, flown))
        least = min(least, float(chance.min()))
        for place in np.argsort(chance, kind="stable")[: int(np.sum(chance < limit))]:
            at = places[place]
            if _rests_on_several(sums, then, at, flown):
                single = float(chance[place])
                found = FoundChange(
                    flight=at, earliest=at, latest=at, raised_by=flown - 1, single=single
                )
                return least, found
    return least, None


def _rests_on_several(
    sums: FlightSums, known: Sequence[FoundChange], place: int, flown: int
) -> bool:
    """Tell whether a step shows without any one flight, so that none that is off makes it."""
    chances = []
    for flight in range(flown):
        without = [*_steps(known), Extra(flight, flight + 1)]
        step = Extra(place, _WITHOUT_END, precision=_STEP_PRECISION)
        chances.append(step_chances(try_levels(sums, solve(sums, flown, without), [step]))[0])
    return bool(max(chances) < CONFIRMED)


def _tried(
    sums: FlightSums, known: Sequence[FoundChange], places: Sequence[int], flown: int
) -> Tried:
    """Try a step at each of some places by the first flights."""
    solved = solve(sums, flown, _steps(known))
    return try_levels(
        sums, solved, [Extra(k, _WITHOUT_END, precision=_STEP_PRECISION) for k in places]
    )


def step_chances(tried: Tried) -> Array:
    """Return the two-sided chance of each level tried, averaged over the nodes."""
    ratio = np.abs(tried.size) / np.sqrt(tried.variance)
    return np.asarray(np.sum(tried.weight * special.erfc(ratio / np.sqrt(2.0)), axis=1))


def _dated(sums: FlightSums, changes: Sequence[FoundChange], flown: int) -> list[FoundChange]:
    """Date each change anew by the first flights, given the others."""
    dated = list(changes)
    for _ in range(2 if len(dated) > 1 else 1):
        for i in range(len(dated)):
            others = dated[:i] + dated[i + 1 :]
            dated[i] = _date(sums, dated[i], others, flown)
    return dated


def _date(
    sums: FlightSums, change: FoundChange, others: Sequence[FoundChange], flown: int
) -> FoundChange:
    low = max((one.flight for one in others if one.flight < change.flight), default=0)
    high = min((one.flight for one in others if one.flight > change.flight), default=flown)
    places = list(range(low + 1, high))
    tried = _tried(sums, others, places, flown)
    highest = tried.log_weight.max(axis=1, keepdims=True)
    likely = highest[:, 0] + np.log(np.exp(tried.log_weight - highest).sum(axis=1))
    share = np.exp(likely - likely.max())
    share /= share.sum()
    ranked = np.argsort(-share, kind="stable")
    held = ranked[: int(np.searchsorted(np.cumsum(share[ranked]), 0.95)) + 1]
    return FoundChange(
        flight=places[ranked[0]],
        earliest=places[held.min()],
        latest=places[held.max()],
        raised_by=change.raised_by,
        single=change.single,
    )


def _scatter(sums: FlightSums) -> float:
    """Return the root of the mean square of the scatter between flights, in y."""
    return float(np.sqrt(solve(sums, sums.flights).weight @ sums.scatter**2))


def _odd(sums: FlightSums, changes: Sequence[FoundChange]) -> tuple[int, ...]:
    """Return the flights that differ from the others by more than one of 200 clean series shows."""
    if sums.flights < FEWEST_FLIGHTS:
        return ()
    solved = solve(sums, sums.flights, _steps(changes))
    single = [Extra(i, i + 1, precision=_STEP_PRECISION) for i in range(sums.flights)]
    chances = step_chances(try_levels(sums, solved, single))
    return tuple(int(i) for i in np.flatnonzero(chances < 1.0 / (SERIES * sums.flights)))
