"""Large airspeed errors: ports that exist make some, and wrong units and columns do.

Static ports exist that are off by a quarter when slow, so the size of an error
refutes nothing by itself. A wrong unit scales all speeds alike, whereas a port's
error falls off as the aircraft flies faster (with lift, so about with the square of
the airspeed, and those printed for certified types faster still). What nothing
contradicts counts, with a doubt.

``python -m tests.flightlog.wrong_sheets`` measures what that does to sheets of legs. Of 100
with airspeeds in miles an hour called knots, 98 were not accepted at two airspeeds or three,
97 at one airspeed with a handbook; at one without, all were doubted. Of 100 right sheets of
ports that are off by a quarter when slow, none was refused at any number of airspeeds (one
standard error 2 %). ``python -m tests.flightlog.wrong_columns`` does it for logs.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Final

import numpy as np

from fleetcal.flightlog.unit_swaps import likely_unit
from fleetcal.records import Point

#: A |kappa| beyond this is doubted: it is what a slip of miles an hour and knots, metres and
#: feet or degrees F and C makes (0.15 to 0.25), and few static ports do, most of them slow
#: (common practice, no published source).
SUSPECT_KAPPA: Final = 0.15
#: An airspeed off by more than this share is held against whatever may contradict it.
LARGE_SHARE: Final = 0.1
# At every speed flown; the mean must be large.
_LEAST_SHARE: Final = 0.07
# Speeds closer together than this ratio do not show whether an error falls off.
_SPREAD: Final = 1.15
# As which power of airspeed kappa may fall off before it is a port's: half way from a
# unit's 0 to the -2 of an error that goes with lift.
_FLATTEST_PORT: Final = -1.0
_NAMED_LINES: Final = 5


def is_suspect(point: Point) -> bool:
    """Tell whether an error is doubted."""
    return abs(point.kappa) > SUSPECT_KAPPA


def is_large(point: Point) -> bool:
    """Tell whether an error is large enough to be held against what may contradict it."""
    return abs(point.dvpc_kt / point.vic_kt) > LARGE_SHARE


def at_one_speed(points: Sequence[Point]) -> bool:
    """Tell whether all errors are large, and the airspeeds too near to show if they fall off."""
    speeds = np.log([point.vic_kt for point in points])
    return all(map(is_large, points)) and len(points) > 0 and bool(np.ptp(speeds) < np.log(_SPREAD))


def scaled_alike(points: Sequence[Point]) -> str:
    """Say that all speeds of a flight are off by one factor, if they are.

    Args:
        points: Those that are not accepted already are passed over, if there are others.

    Returns:
        Empty where an error is small or falls off as a port's does, and where all runs were flown
        at about one airspeed.
    """
    points = [point for point in points if point.accepted] or points
    shares = np.array([point.dvpc_kt / point.vic_kt for point in points])
    if len(points) < 2 or np.ptp(np.sign(shares)) or np.abs(shares).min() <= _LEAST_SHARE:
        return ""
    speeds = np.log([point.vic_kt for point in points])
    if np.abs(shares).mean() <= LARGE_SHARE or np.ptp(speeds) < np.log(_SPREAD):
        return ""
    kappa = np.array([point.kappa for point in points])
    sure = np.abs(kappa) / np.array([point.u_kappa for point in points])
    power, _ = np.polyfit(speeds, np.log(np.abs(kappa)), 1, w=sure)
    if power < _FLATTEST_PORT:
        return ""
    return (
        f"all speeds flown would be off alike, by {sizes(points)}{_mixed(shares)}: a wrong unit or "
        "column does that, while a port's error falls off with speed"
    )


def doubts(points: Sequence[Point], noun: str, borne_out: Collection[int] = ()) -> tuple[str, ...]:
    """Doubt large errors, those that count and those that do not.

    Args:
        noun: What a point is called: its number follows.
        borne_out: Numbers of points that need no doubt.

    Returns:
        A sentence for each kind.
    """
    suspect = [p for p in points if is_suspect(p) and p.number not in borne_out]
    counted = [point for point in suspect if point.accepted]
    others = [point for point in suspect if not point.accepted]
    check = "check the units of airspeed, altitude and temperature"
    found = []
    if counted:
        them = "it counts" if len(counted) == 1 else "they count"
        found.append(
            f"{numbered(noun, counted)}: the airspeed is off by {sizes(counted)}, more than most "
            f"static ports make; nothing contradicts that, so {them}, but {check}"
        )
    if others:
        off = f"the airspeed would be off by {sizes(others)}"
        found.append(f"{numbered(noun, others)}: {off}: {check}")
    return tuple(found)


def large_errors_words(lines: Sequence[int]) -> tuple[str, ...]:
    """Doubt the large errors of a file that was measured elsewhere.

    Args:
        lines: Of the file.

    Returns:
        One sentence, or none.
    """
    if not lines:
        return ()
    first = ", ".join(map(str, lines[:_NAMED_LINES]))
    more = f" and {len(lines) - _NAMED_LINES} more" if len(lines) > _NAMED_LINES else ""
    several, they = ("s", "they count") if len(lines) > 1 else ("", "it counts")
    return (
        f"line{several} {first}{more}: kappa beyond {SUSPECT_KAPPA:g} is more than most static "
        f"ports make; {they}, but check unit and column",
    )


def numbered(noun: str, points: Sequence[Point]) -> str:
    """Return points by their numbers."""
    several = "" if len(points) == 1 else "s"
    return f"{noun}{several} {', '.join(str(point.number) for point in points)}"


def _mixed(shares: Sequence[float] | np.ndarray) -> str:
    """Name the units whose mixing up makes such a factor, if some do."""
    factor = float(np.mean(shares)) + 1.0
    if "mph" in (likely_unit(factor, "kt"), likely_unit(1.0 / factor, "kt")):
        return ", as where knots and miles an hour are mixed up"
    return ""


def sizes(points: Sequence[Point]) -> str:
    """Return by how much airspeeds are off, smallest and largest, in per cent."""
    off = sorted(100.0 * point.dvpc_kt / point.vic_kt for point in points)
    low, high = (f"{share:+.0f}" for share in (off[0], off[-1]))
    return f"{low} %" if low == high else f"{low} to {high} %"
