"""How far each airframe departs from its group where it departs most, as one picture.

A line for each, with words and figures beside a bar, so that the picture is a table too. One
scale serves all: bars that it cannot hold end in an arrow.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from fleetcal.publish.site.content import SET_ASIDE
from fleetcal.publish.site.content_airframe import AirframeSummary, GroupStanding

#: Verdicts whose lines come first.
FIRST: Final = (SET_ASIDE, "outside", "undecided")
WIDTH: Final = 200.0
_LEAST_SPAN_KT: Final = 3.0
_MOST_SPAN_KT: Final = 12.0
_ARROW: Final = 5.0


@dataclass(frozen=True, kw_only=True)
class DepartureLine:
    """One airframe in one group; `bar`, `middle` and `arrows` are paths of the drawing."""

    tag: str
    path: str
    group: str
    group_page: str
    verdict: str
    departure_kt: float
    low_kt: float
    high_kt: float
    at_ias_kt: float
    bar: str
    middle: str
    arrows: str


@dataclass(frozen=True, kw_only=True)
class DeparturePicture:
    """All lines: first those that do not stand inside, the others under their groups.

    Attributes:
        span_kt: What the scale reaches either way.
        ordinary (tuple of (group, lines)): Of airframes inside.
        not_judged: How many have no departure, for want of points or of others.
    """

    span_kt: float
    first: tuple[DepartureLine, ...]
    ordinary: tuple[tuple[str, tuple[DepartureLine, ...]], ...]
    not_judged: int

    @property
    def inside(self) -> int:
        """How many airframes are inside in a group."""
        return len({line.tag for _, lines in self.ordinary for line in lines})

    @property
    def count(self) -> int:
        """How many lines there are."""
        return len(self.first) + sum(len(lines) for _, lines in self.ordinary)


def departures_of(airframes: Sequence[AirframeSummary]) -> DeparturePicture:
    """Return the lines of the airframes that have a departure."""
    found = [
        (airframe, standing, _largest(standing))
        for airframe in airframes
        for standing in airframe.standings
        if standing.largest_departure_kt is not None and standing.rows
    ]
    span = _span(end for _, _, row in found for end in row[2:])
    lines = [_line(airframe, standing, row, span) for airframe, standing, row in found]
    ordinary = [line for line in lines if line.verdict not in FIRST]
    groups = sorted({line.group for line in ordinary})
    return DeparturePicture(
        span_kt=span,
        first=tuple(sorted((one for one in lines if one.verdict in FIRST), key=_order)),
        ordinary=tuple(
            (group, tuple(line for line in ordinary if line.group == group)) for group in groups
        ),
        not_judged=sum(
            all(standing.largest_departure_kt is None for standing in airframe.standings)
            for airframe in airframes
        ),
    )


def _order(line: DepartureLine) -> tuple[int, float]:
    return FIRST.index(line.verdict), -abs(line.departure_kt)


def _largest(standing: GroupStanding) -> tuple[float, float, float, float]:
    """Return the row of a standing where it departs most."""
    return min(standing.rows, key=lambda row: abs(row[0] - (standing.at_ias_kt or 0.0)))


def _span(ends: Iterable[float]) -> float:
    """Return a whole number of knots that holds the bars, as far as a scale may reach."""
    reach = max((abs(end) for end in ends), default=_LEAST_SPAN_KT)
    return float(math.ceil(min(max(reach, _LEAST_SPAN_KT), _MOST_SPAN_KT)))


def _line(
    airframe: AirframeSummary,
    standing: GroupStanding,
    row: tuple[float, float, float, float],
    span: float,
) -> DepartureLine:
    at, departure, low, high = row

    def x(value: float) -> float:
        return WIDTH / 2.0 * (1.0 + min(max(value / span, -1.0), 1.0))

    arrows = ""
    if low < -span:
        arrows += f"M{_ARROW:.0f} 5L0 10L{_ARROW:.0f} 15"
    if high > span:
        arrows += f"M{WIDTH - _ARROW:.0f} 5L{WIDTH:.0f} 10L{WIDTH - _ARROW:.0f} 15"
    return DepartureLine(
        tag=airframe.tag,
        path=airframe.path,
        group=standing.group,
        group_page=standing.group_page,
        verdict=standing.verdict,
        departure_kt=departure,
        low_kt=low,
        high_kt=high,
        at_ias_kt=at,
        bar=f"M{x(low):.1f} 10H{x(high):.1f}",
        middle=f"M{x(departure):.1f} 4V16" if abs(departure) <= span else "",
        arrows=arrows,
    )
