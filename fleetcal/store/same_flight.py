"""Whether two flights are one and the same, told by what was read in them.

A file can be packed, cut, saved in other units, or typed anew: its bytes say little. The legs of
two logs are of one flight where they follow each other at the same times, whatever the clocks
began at, at the same speeds over the ground. Legs without times (a sheet typed by
hand, rounded to whole knots) are of one flight where, on one day, most of the fewer are equal but
for that rounding. The day itself counts only if the file says it: of a file without one, all days
are looked at, and legs without times must then be equal to the last digit. Where one of the two
has no legs (older results, other techniques, ordinary flights) points are compared, on one day.

Two flights of one airframe on one day differ: gusts, wind and piloting alone move a leg by more
than the rounding, and no two series of legs keep one rhythm to seconds.
`python -m tests.attacks.same_flight` counts both kinds of error.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final, Protocol

from fleetcal.records import GPS_MANOEUVRE, ORDINARY_FLIGHT, Climb, Leg

#: Of two logs, and how many of the fewer legs must be alike: as saved in other units; and where
#: the instruments were checked on the bench between, which leaves the ground as it was.
_IN_RHYTHM: Final = (
    ({"vic_kt": 0.3, "pressure_altitude_ft": 8.0, "ground_kt": 0.3}, 0.5),
    ({"vic_kt": 3.0, "pressure_altitude_ft": 150.0, "ground_kt": 0.3}, 0.8),
)
#: Durations that make it worth trying whether two legs are one, s.
_FIRST_S: Final = 5.0
#: Of legs by hand, and of older results: what rounding does, and what it does not.
_NEAR: Final = {"vic_kt": 0.6, "pressure_altitude_ft": 60.0, "ground_kt": 0.6}
_EQUAL: Final = {"vic_kt": 1e-4, "pressure_altitude_ft": 0.1, "ground_kt": 1e-4}
_NEAR_TRACK_DEG: Final = 1.6
#: Where one counts from magnetic north and the other may not.
_OTHER_NORTH_DEG: Final = 30.0
_NEAR_POINT: Final = {"vic_kt": 0.6, "pressure_altitude_ft": 60.0, "dvpc_kt": 0.06}
_SURE_POINT: Final = {
    "vic_kt": 0.06,
    "pressure_altitude_ft": 6.0,
    "dvpc_kt": 0.006,
    "u_dvpc_kt": 0.006,
}
#: Of two logs without legs: one that was cut is solved otherwise; at an airspeed that was not cut
#: it was flown as long, s, and read alike.
_LOGGED_POINT: Final = {
    "duration_s": 2.0,
    "vic_kt": 0.3,
    "pressure_altitude_ft": 10.0,
    "dvpc_kt": 2.0,
}
_WITHOUT_LEGS: Final = (GPS_MANOEUVRE, ORDINARY_FLIGHT)
_NEAR_CLIMB: Final = {
    "vic_kt": 0.3,
    "pressure_altitude_ft": 15.0,
    "rate_ftmin": 4.0,
    "indicated_rate_ftmin": 4.0,
}
#: How many of the fewer must be alike.
_HALF: Final = 0.5
_MOST: Final = 0.75
_FEW: Final = 3

_Limits = Mapping[str, float]


class FlownPoint(Protocol):
    """What is compared of a point."""

    @property
    def technique(self) -> str:
        """What it was measured by."""

    @property
    def duration_s(self) -> float | None:
        """How long it took."""

    @property
    def flap_setting(self) -> str:
        """As the flaps stood."""

    @property
    def vic_kt(self) -> float:
        """Airspeed."""

    @property
    def pressure_altitude_ft(self) -> float:
        """As indicated."""

    @property
    def dvpc_kt(self) -> float:
        """Correction of the airspeed."""

    @property
    def u_dvpc_kt(self) -> float:
        """Its uncertainty."""


@dataclass(frozen=True, kw_only=True)
class FlownFlight:
    """What tells a flight from another.

    Attributes:
        airframe: Tag.
        is_dated: Whether its file says the day; else somebody said it, who may err.
        legs, points, climbs: As they are stored.
        sortie_id, file: Empty of a flight that is not stored.
    """

    airframe: str
    flown_on: date
    is_dated: bool = True
    track_reference: str = "unknown"
    legs: Sequence[Leg] = ()
    points: Sequence[FlownPoint] = ()
    climbs: Sequence[Climb] = ()
    sortie_id: int = 0
    file: str = ""


@dataclass(frozen=True)
class Alike:
    """What two flights have alike.

    Attributes:
        count, of: Of the flight that has fewer.
        what: Word for one.
    """

    count: int
    of: int
    what: str


def alike(one: FlownFlight, other: FlownFlight) -> Alike | None:
    """Return what shows that two flights are one and the same; None if nothing does."""
    return (
        _alike_climbs(one, other)
        or (_alike_legs(one, other) if one.legs and other.legs else None)
        or (None if one.legs and other.legs else _alike_points(one, other))
    )


def _alike_legs(one: FlownFlight, other: FlownFlight) -> Alike | None:
    fewer = min(len(one.legs), len(other.legs))
    days = abs((one.flown_on - other.flown_on).days)
    if days > 1 and one.is_dated and other.is_dated:
        return None
    some, others = ([leg for leg in flown.legs if _is_timed(leg)] for flown in (one, other))
    for limits, share in _IN_RHYTHM:
        count = _in_rhythm(some, others, limits)
        if count >= max(min(_FEW, fewer), share * fewer):
            return Alike(count, fewer, "leg")
    are_logs = len(some) == len(one.legs) and len(others) == len(other.legs)
    if one.airframe != other.airframe or fewer < _FEW or are_logs:
        return None
    count = _paired(one.legs, other.legs, _legs_within(_NEAR if days <= 1 else _EQUAL, one, other))
    return Alike(count, fewer, "leg") if count >= _MOST * fewer else None


def _is_timed(leg: Leg) -> bool:
    return leg.start_s is not None and leg.stop_s is not None and leg.ground_east_kt is not None


def _in_rhythm(some: Sequence[Any], others: Sequence[Any], limits: _Limits) -> int:
    """Return how many legs are alike when one clock is moved so that most are."""
    others = sorted(others, key=lambda leg: leg.start_s)
    starts = {0.0}
    for leg in some:
        for other in others:
            if _as_long(leg, other) and _within(leg, other, limits):
                starts.add(round(other.start_s - leg.start_s, 1))
    return max(_overlapping(some, others, start, limits) for start in starts)


def _as_long(leg: Any, other: Any) -> bool:
    longer_s: float = leg.stop_s - leg.start_s - other.stop_s + other.start_s
    return abs(longer_s) <= _FIRST_S


def _overlapping(
    some: Sequence[Any], others: Sequence[Any], later_s: float, limits: _Limits
) -> int:
    count = place = 0
    for leg in sorted(some, key=lambda leg: leg.start_s):
        start, stop = leg.start_s + later_s, leg.stop_s + later_s
        while place < len(others) and others[place].stop_s <= start:
            place += 1
        for other in others[place : place + 2]:
            both = min(stop, other.stop_s) - max(start, other.start_s)
            either = max(stop, other.stop_s) - min(start, other.start_s)
            if both > _HALF * either and _within(leg, other, limits):
                count += 1
                break
    return count


def _ground(leg: Any) -> float:
    return math.hypot(leg.ground_east_kt or 0.0, leg.ground_north_kt or 0.0)


def _within(one: Any, other: Any, limits: _Limits) -> bool:
    for name, limit in limits.items():
        if name == "ground_kt":
            if abs(_ground(one) - _ground(other)) > limit:
                return False
        elif abs(getattr(one, name) - getattr(other, name)) > limit:
            return False
    return True


def _legs_within(
    limits: _Limits, one: FlownFlight, other: FlownFlight
) -> Callable[[Any, Any], bool]:
    same_north = one.track_reference == other.track_reference
    turned = _NEAR_TRACK_DEG if same_north else _OTHER_NORTH_DEG

    def within(leg: Leg, stored: Leg) -> bool:
        tracks = (leg.track_deg, stored.track_deg)
        if tracks[0] is not None and tracks[1] is not None:
            apart = abs((tracks[0] - tracks[1] + 180.0) % 360.0 - 180.0)
            if apart > turned:
                return False
        return _within(leg, stored, limits)

    return within


def _alike_points(one: FlownFlight, other: FlownFlight) -> Alike | None:
    if one.airframe != other.airframe or one.flown_on != other.flown_on:
        return None
    fewer = min(len(one.points), len(other.points))
    limits, share = _NEAR_POINT if fewer >= _FEW else _SURE_POINT, _MOST
    if fewer > 1 and all(map(_is_without_legs, (*one.points, *other.points))):
        limits, share = _LOGGED_POINT, _HALF

    def within(point: Any, stored: Any) -> bool:
        return point.flap_setting == stored.flap_setting and _within(point, stored, limits)

    count = _paired(one.points, other.points, within)
    return Alike(count, fewer, "point") if fewer and count >= share * fewer else None


def _is_without_legs(point: FlownPoint) -> bool:
    return point.technique in _WITHOUT_LEGS and point.duration_s is not None


def _alike_climbs(one: FlownFlight, other: FlownFlight) -> Alike | None:
    is_dated = one.is_dated and other.is_dated
    if one.airframe != other.airframe or (is_dated and one.flown_on != other.flown_on):
        return None
    fewer = min(len(one.climbs), len(other.climbs))

    def within(climb: Any, stored: Any) -> bool:
        return climb.kind == stored.kind and _within(climb, stored, _NEAR_CLIMB)

    count = _paired(one.climbs, other.climbs, within)
    return Alike(count, fewer, "climb") if fewer and count >= _HALF * fewer else None


def _paired(some: Sequence[Any], others: Sequence[Any], within: Callable[[Any, Any], bool]) -> int:
    """Return how many find one that is alike, each at most once."""
    left = list(others)
    count = 0
    for one in some:
        place = next((i for i, other in enumerate(left) if within(one, other)), None)
        if place is not None:
            del left[place]
            count += 1
    return count
