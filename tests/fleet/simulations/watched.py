"""How often a watch on one airframe raises a false alarm, and how soon it finds a change.

The flights share none of the watch's assumptions: errors of points have heavy tails and hang
together within a flight, though they are stated as independent; what is stated is off by a
factor of its own in each flight; the day's error is one of knots, with heavy tails; the
indicator errs by a wave over speed that stays; the curve has a knee that no parabola has;
flights have two to six points, many of them slow or fast ones only.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.watch import WatchedFlights, watch_flights
from fleetcal.fleet.watched_sizes import change_band

from .invented_fleet import KAPPA_PER_KT, lift_at

#: Knots in which a band of a change is checked.
LOOKED_AT_KT = np.array([70.0, 100.0, 130.0])
SOON = 5


@dataclass(frozen=True, kw_only=True)
class Season:
    """The flights of one airframe.

    Attributes:
        step_kt: Change at 100 kt; its sign is drawn.
        least_before, least_after: Flights on either side of the change.
        point_kt: Standard deviation of a point, as stated.
        day_kt: Standard deviation of what a day adds.
        as_supposed: Whether flights are as the watch supposes, for comparison: normal, independent,
            on a curve that it can fit.
    """

    flights: int = 20
    step_kt: float = 0.0
    least_before: int = 6
    least_after: int = SOON
    point_kt: float = 0.4
    day_kt: float = 0.4
    as_supposed: bool = False


@dataclass(frozen=True, kw_only=True)
class FlownSeason:
    """A season with its truth: first flight after the change, and its size in knots."""

    points: FleetPoints
    change: int
    truth_kt: Array


def season(plan: Season, seed: int) -> FlownSeason:
    """Return the flights of one season."""
    rng = np.random.default_rng(seed)
    change = int(rng.integers(plan.least_before, plan.flights - plan.least_after + 1))
    step = plan.step_kt * rng.choice([-1.0, 1.0])
    in_knots = rng.random() < 0.3  # as of an indicator; else as of a port or a leak
    wave, phase = 0.5 * rng.standard_normal(), rng.uniform(0.0, 2.0 * np.pi)
    knee = 0.012 * rng.choice([-1.0, 1.0])
    parts = []
    for flight in range(plan.flights):
        speed = _speeds(rng)
        lift = lift_at(speed)
        kappa = 0.03 + 0.06 * (lift - 0.25)
        if plan.as_supposed:
            kappa += KAPPA_PER_KT * plan.day_kt * rng.standard_normal()
            errors_kt = plan.point_kt * rng.standard_normal(len(speed))
        else:
            kappa += knee * np.tanh((lift - 0.3) / 0.04)
            errors_kt = wave * np.sin(speed / 12.0 + phase) + _day_and_points(plan, speed, rng)
        if flight >= change:
            errors_kt += step * (1.0 if in_knots else speed / 100.0)
        parts.append((np.full(len(speed), flight), speed, kappa + 2.0 * errors_kt / speed))
    number, speed, kappa = (np.concatenate(column) for column in zip(*parts, strict=True))
    flights = np.asarray(number, dtype=np.int64)
    return FlownSeason(
        points=FleetPoints(
            x=lift_at(speed),
            y=kappa,
            u_own=2.0 * plan.point_kt / speed,
            u_shared=np.full((len(speed), 1), KAPPA_PER_KT * 0.1),
            sortie=flights,
            aircraft=flights,
            group_of=np.zeros(plan.flights, dtype=np.int64),
            u_airframe=np.c_[2.0 * 1.3 / speed, 0.003 * (1.0 + 0.2 * np.sin(flights))],
        ),
        change=change,
        truth_kt=np.asarray(step * (np.ones(3) if in_knots else LOOKED_AT_KT / 100.0)),
    )


def _speeds(rng: np.random.Generator) -> Array:
    low, high = ((60.0, 95.0), (90.0, 135.0), (60.0, 135.0))[rng.integers(3)]
    return np.asarray(np.sort(rng.uniform(low, high, rng.integers(2, 7))))


def _day_and_points(plan: Season, speed: Array, rng: np.random.Generator) -> Array:
    """Return errors in knots whose size is not as stated, with heavy tails."""
    factor = np.exp(0.3 * rng.standard_normal())
    day = plan.day_kt * rng.standard_t(4) / np.sqrt(2.0)
    return np.asarray(day + plan.point_kt * factor * _hanging_together(len(speed), rng))


def _hanging_together(count: int, rng: np.random.Generator) -> Array:
    """Return errors of standard deviation one with heavy tails, each like the one before."""
    drawn = rng.standard_t(3, count) / np.sqrt(3.0)
    for i in range(1, count):
        drawn[i] = 0.5 * drawn[i - 1] + np.sqrt(0.75) * drawn[i]
    return np.asarray(drawn)


def alarmed(plan: Season, order: int | None, seed: int) -> tuple[float, ...]:
    """Return what a season without a change shows, each 1 or 0.

    An alarm after any of its flights; a p-value below 5 %; a flight marked by itself.
    """
    found = watch_flights(season(replace(plan, step_kt=0.0), seed).points)
    return (float(bool(found.changes)), float(found.p_value < 0.05), float(bool(found.odd)))


def found_soon(plan: Season, order: int | None, seed: int) -> tuple[float, ...]:
    """Return what became of a change, each 1 or 0.

    Found within three, and within five flights after it; that, and dated to within one flight of
    the truth by then; by the end of the season: found, dated exactly, truth in the 95 % set of
    places, size at three speeds in its band, more than one change found.
    """
    flown = season(plan, seed)
    three, five = (
        _seen(watch_flights(first_flights(flown.points, flown.change + count)), flown.change)
        for count in (3, SOON)
    )
    end = watch_flights(flown.points)
    if not _seen(end, flown.change)[0]:
        return (three[0], *five, *np.zeros(7))
    at = int(np.argmin([abs(one.flight - flown.change) for one in end.changes]))
    one = end.changes[at]
    band, kt = change_band(end, at, lift_at(LOOKED_AT_KT)), LOOKED_AT_KT / 2.0
    held = (band.low * kt <= flown.truth_kt) & (flown.truth_kt <= band.high * kt)
    return (
        three[0],
        *five,
        1.0,
        float(one.flight == flown.change),
        float(one.earliest <= flown.change <= one.latest),
        *held.astype(float),
        float(len(end.changes) > 1),
    )


def _seen(found: WatchedFlights, change: int) -> tuple[float, float]:
    """Return whether a change was found after it happened, and whether dated within one flight."""
    true = [one for one in found.changes if one.raised_by >= change]
    near = any(abs(one.flight - change) <= 1 for one in true)
    return float(bool(true)), float(near)


def first_flights(points: FleetPoints, count: int) -> FleetPoints:
    """Return the points of the first flights."""
    keep = points.aircraft < count
    return FleetPoints(
        x=points.x[keep],
        y=points.y[keep],
        u_own=points.u_own[keep],
        u_shared=points.u_shared[keep],
        sortie=points.sortie[keep],
        aircraft=points.aircraft[keep],
        group_of=points.group_of[:count],
        u_airframe=points.u_airframe[keep],
    )
