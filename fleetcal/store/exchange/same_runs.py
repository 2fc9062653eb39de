"""Which points of two reductions of one flight are of the same run, and what differs.

Runs are told by when they were flown: two are the same if the time that both cover, from
the first leg to the end of the last, is more than half of what either covers. Where no
times are stored (legs written by hand) the number of the run in the file tells; manoeuvres and
the airspeeds of ordinary flights, of which no times are stored, are told by their place,
airspeed and altitude.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from operator import eq
from typing import Any, Final

from fleetcal.records import Point, columns_of

_NEAR_KT: Final = 2.0
_NEAR_FT: Final = 100.0
_HALF: Final = 0.5
_RELATIVE: Final = 1e-6  # settings are kept with nine decimals
_DECIDED: Final = ("accepted", "reason")
_COMPARED: Final = tuple(c for name, c in columns_of(Point).items() if name not in _DECIDED)

Row = Mapping[str, Any]


@dataclass(frozen=True)
class RunPoint:
    """A point with what tells its run; `span_s` is None where no times are known."""

    point: Row
    run: int | None
    span_s: tuple[float, float] | None


def flown_points(points: Sequence[Row], legs: Sequence[Row]) -> list[RunPoint]:
    """Return points with the runs that they were solved from.

    Args:
        points: By number.
        legs: Of the solved runs, by run and number; none where it was solved without legs.
    """
    runs = [
        (number, list(group)) for number, group in groupby(legs, lambda leg: int(leg["run_number"]))
    ]
    if len(runs) != len(points):
        return [RunPoint(point, None, None) for point in points]
    return [
        RunPoint(point, number, _span(group))
        for point, (number, group) in zip(points, runs, strict=True)
    ]


def _span(legs: Sequence[Row]) -> tuple[float, float] | None:
    starts, stops = ([leg[name] for leg in legs] for name in ("start_s", "stop_s"))
    if any(time is None for time in (*starts, *stops)) or min(starts) >= max(stops):
        return None
    return min(starts), max(stops)


def pairs_of(before: Sequence[RunPoint], after: Sequence[RunPoint]) -> list[tuple[int, int]]:
    """Return which point before is of the same run as which after.

    Returns:
        Places in both; each at most once.
    """
    likely = sorted(
        (
            (_alike(one, other, i == j), i, j)
            for i, one in enumerate(before)
            for j, other in enumerate(after)
        ),
        key=lambda found: (-found[0], found[1], found[2]),
    )
    pairs: list[tuple[int, int]] = []
    for share, i, j in likely:
        taken = any(i == one or j == other for one, other in pairs)
        if share > _HALF and not taken:
            pairs.append((i, j))
    return sorted(pairs)


def _alike(one: RunPoint, other: RunPoint, same_place: bool) -> float:
    """Return 1 for surely the same run, 0 for surely another."""
    if one.point["technique"] != other.point["technique"]:
        return 0.0
    if one.span_s is not None and other.span_s is not None:
        (a, b), (c, d) = one.span_s, other.span_s
        return max(0.0, min(b, d) - max(a, c)) / max(b - a, d - c)
    if one.run is not None or other.run is not None:
        return float(one.run == other.run)
    speed = abs(one.point["vic_kt"] - other.point["vic_kt"])
    height = abs(one.point["pressure_altitude_ft"] - other.point["pressure_altitude_ft"])
    return float(same_place and speed < _NEAR_KT and height < _NEAR_FT)


def same_values(before: Row, after: Row) -> bool:
    """Tell whether a point comes out the same, of a run of the same number, but for rounding."""
    return all(
        (_near if column.kind is float else eq)(before.get(column.name), after.get(column.name))
        for column in _COMPARED
    )


def _near(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return abs(one - other) <= _RELATIVE * max(1e-3, abs(one), abs(other))
