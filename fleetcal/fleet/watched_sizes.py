"""How large the changes of a watched airframe are, and what each of its flights shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from fleetcal.fleet.averaged import curve_band
from fleetcal.fleet.bands import Band
from fleetcal.fleet.basis import HIGHEST_ORDER, curve_basis
from fleetcal.fleet.flight_sums import Extra, SolvedFlights, Tried, solve, try_levels
from fleetcal.fleet.foreseen_change import USUAL_CHANGE
from fleetcal.fleet.points import Array
from fleetcal.fleet.scan_chance import FEWEST_A_SIDE
from fleetcal.fleet.watch import LIMIT, SERIES, WatchedFlights

#: Flights that a step is said to be found after.
USUAL_AFTER: Final = 5
#: Chance with which the smallest step that is told would have been found.
POWER: Final = 0.8
_WITHOUT_END: Final = 1_000_000


@dataclass(frozen=True, kw_only=True)
class FlightLevels:
    """What each flight shows against the curve before the first change, in y.

    Attributes:
        curve (3,): Coefficients of that curve.
        level (flights,): Of its points.
        half (flights,): Half the width of its 95 % band, by what is stated of its points.
        allowed (flights,): Half the width of the band about the level of its part of the series
            that one of 200 clean series leaves with any flight.
        scatter: Of flights beyond what is stated of them, root of the mean square.
    """

    curve: Array
    level: Array
    half: Array
    allowed: Array
    scatter: float


def _with_tilt(found: WatchedFlights, flights: int) -> SolvedFlights:
    """Return the fit of the first flights with a step of level and tilt at each change."""
    tilt = 1.0 / USUAL_CHANGE[1] ** 2
    extras: list[Extra] = []
    for one in found.changes:
        extras += [Extra(one.flight, _WITHOUT_END), Extra(one.flight, _WITHOUT_END, 1, tilt)]
    return solve(found.sums, flights, extras)


def change_band(found: WatchedFlights, change: int, x: Array) -> Band:
    """Return the size of a change with its 95 % band, in y.

    Args:
        change: Of `found.changes`, from 0.
        x: Shape (n,).
    """
    solved = _with_tilt(found, found.dated_by)
    first = len(found.sums.precision) + 2 * change
    own = slice(first, first + 2)
    basis, mean = curve_basis(x, 1), solved.mean[:, own]
    low, high = curve_band(solved.weight, mean, solved.covariance[:, own, own], basis, 0.95)
    return Band(basis @ (solved.weight @ mean), low, high)


def flight_levels(found: WatchedFlights) -> FlightLevels:
    """Return what each flight shows."""
    sums, solved = found.sums, _with_tilt(found, found.dated_by)
    q, weight = len(sums.precision), solved.weight
    curve = weight @ solved.mean[:, :q]
    stated = int(np.flatnonzero((sums.scatter == 0.0) & (sums.factor == 1.0))[0])
    each = np.diff(sums.total[stated], axis=0)
    level = (each[:, 0, q] - each[:, 0, :q] @ curve) / each[:, 0, 0]
    alone = sums.alone * np.sqrt(weight @ sums.factor)
    scatter = float(np.sqrt(weight @ sums.scatter**2))
    everyone = _with_tilt(found, sums.flights)
    tried = try_levels(sums, everyone, [Extra(i, i + 1) for i in range(sums.flights)])
    # of the flight left out, brought to the flight in the mean
    own = np.diff(sums.total[:, :, 0, 0], axis=1).T
    kept = np.sum(tried.weight / (tried.variance * own), axis=1)
    single = 1.0 / (SERIES * sums.flights)
    allowed = np.array([_size_with_chance(tried, i, single) for i in range(sums.flights)])
    return FlightLevels(
        curve=curve[: HIGHEST_ORDER + 1],
        level=level,
        half=special.ndtri(0.975) * alone,
        allowed=allowed * kept,
        scatter=scatter,
    )


def _size_with_chance(tried: Tried, place: int, chance: float) -> float:
    """Return the size of a level that has a two-sided chance by itself."""
    weight, deviation = tried.weight[place], np.sqrt(tried.variance[place])

    def excess(size: float) -> float:
        sided = special.erfc(size / deviation / np.sqrt(2.0))
        return float(np.log(weight @ sided + 1e-300) - np.log(chance))

    from scipy import optimize  # which loads slowly

    return float(optimize.brentq(excess, 0.0, 60.0 * float(deviation.max())))


def smallest_found(found: WatchedFlights) -> tuple[int, float] | None:
    """Return how many flights old which step would have been found, in y.

    Returns:
        Five flights, or half of those since the last change; and a step that is found in eight
        cases of ten. None if there are too few flights since the last change.
    """
    flights = found.sums.flights
    since = flights - max((one.flight for one in found.changes), default=0)
    after = min(USUAL_AFTER, since // 2)
    if found.more or after < FEWEST_A_SIDE:
        return None
    steps = [Extra(one.flight, _WITHOUT_END) for one in found.changes]
    solved = solve(found.sums, flights, steps)
    tried = try_levels(found.sums, solved, [Extra(flights - after, _WITHOUT_END)])
    deviation = float(np.sqrt(tried.weight[0] @ tried.variance[0]))
    return after, _size_with_chance(tried, 0, LIMIT) + deviation * float(special.ndtri(POWER))
