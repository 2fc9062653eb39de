"""What needs attention in a fleet, a line each, and how much of it is in use."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fleetcal.plain_text import signed
from fleetcal.publish.site.content import SET_ASIDE, Overview
from fleetcal.publish.site.content_airframe import AirframeSummary, GroupStanding
from fleetcal.publish.site.content_sortie import SitePoint
from fleetcal.wording import counted

#: Longer words for why a point does not count are cut, so that a line stays a line.
_LONGEST_REASON = 90


@dataclass(frozen=True)
class Attention:
    """One line: whose page it leads to, and why it stands there."""

    path: str
    tag: str
    why: str


@dataclass(frozen=True)
class InUse:
    """How many there are of something that is in use, and how many are out."""

    count: int
    noun: str
    out: str


def airframes_off(airframes: Sequence[AirframeSummary]) -> list[Attention]:
    """Return who is set aside, who stands outside, and whose error the watch says has changed."""
    aside = [one for one in airframes if one.verdict == SET_ASIDE]
    return [
        *(Attention(one.path, one.tag, _why_aside(one)) for one in aside),
        *(
            Attention(one.path, one.tag, f"stands outside {standing.group}{_far(standing)}.")
            for one in airframes
            for standing in one.standings
            if standing.verdict == "outside"
        ),
        *(
            Attention(one.path, one.tag, f"changed: {words[:1].lower()}{words[1:]}")
            for one in airframes
            for words in one.alarms
        ),
    ]


def points_doubtful(airframes: Iterable[AirframeSummary]) -> list[Attention]:
    """Return which airframes have points that are not accepted, with the reasons counted.

    Of one that is set aside the reasons stand with that.
    """
    found = []
    for airframe in airframes:
        why = _reasons(point for point in airframe.points if not point.accepted)
        if why and airframe.verdict != SET_ASIDE:
            found.append(Attention(airframe.path, airframe.tag, f"has doubtful points: {why}."))
    return found


def in_use(fleet: Overview) -> list[InUse]:
    """Return the counts on top of the page."""
    points = [point for airframe in fleet.airframes for point in airframe.points]
    used = [point for point in points if not point.out]
    flown = {point.sortie for point in points}
    with_points = sum(bool(one.points) for one in fleet.airframes)
    flying = sum(any(not point.out for point in one.points) for one in fleet.airframes)
    return [
        _counted(flying, with_points, "airframe", never=len(fleet.airframes) - with_points),
        _counted(len({point.sortie for point in used}), len(flown), "sortie"),
        _counted(len(used), len(points), "point"),
        InUse(len(fleet.groups), "group with a curve" if len(fleet.groups) == 1 else _CURVES, ""),
    ]


_CURVES = "groups with a curve"


def _counted(used: int, every: int, noun: str, never: int = 0) -> InUse:
    words = counted(used, noun).partition(" ")[2]
    out = f"{every - used} out" if every > used else "none out"
    return InUse(used, f"{words} in use", f"{out}, {never} not flown" if never else out)


def _why_aside(airframe: AirframeSummary) -> str:
    for standing in airframe.standings:
        if standing.verdict == SET_ASIDE:
            far = _far(standing)
            would = f"; it would depart{far}" if far else ""
            return f"is set aside: {standing.why_aside}{would}."
    return f"is set aside: {_reasons(airframe.points)}."


def _far(standing: GroupStanding) -> str:
    if standing.largest_departure_kt is None or standing.at_ias_kt is None:
        return ""
    return f" by {signed(standing.largest_departure_kt)} kt at {standing.at_ias_kt:.0f} kt"


def _reasons(points: Iterable[SitePoint]) -> str:
    """Return why points are out: each reason once, with how many points it is for."""
    reasons = Counter(_short(point.out) for point in points)
    return "; ".join(f"{counted(count, 'point')}: {why}" for why, count in reasons.items())


def _short(words: str) -> str:
    return words if len(words) <= _LONGEST_REASON else f"{words[: _LONGEST_REASON - 1]}\u2026"
