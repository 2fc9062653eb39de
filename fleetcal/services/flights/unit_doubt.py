"""Whether a large error of a flight is a wrong unit or column, by what contradicts it.

Static ports exist that are off by a quarter when slow, so the size of an error
refutes nothing by itself. A wrong unit scales all speeds alike, whereas a port's
error falls off as the aircraft flies faster (with lift, so about with the square of
the airspeed, and those printed for certified types faster still). What nothing
contradicts counts, with a doubt. ``python -m tests.flightlog.wrong_columns`` and
``python -m tests.flightlog.wrong_sheets`` measure how often a wrong unit is caught.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from fleetcal.flightlog import ColumnChoice
from fleetcal.flightlog.unit_swaps import likely_unit
from fleetcal.records import Point
from fleetcal.services.flights.run_lines import RunLine

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
_AIR: Final = (
    *("pressure_altitude", "baro_altitude", "static_temperature"),
    *("total_temperature", "probe_temperature"),
)
_SPEEDS: Final = ("indicated_airspeed", "true_airspeed", "ground_speed")
# what tells the size of the airspeed, or of the ground speed, without its column's unit
_VOUCHING: Final = ("impact_pressure", "latitude")


def assumed_speeds(columns: Sequence[ColumnChoice], airspeed_from: str) -> str:
    """Say that nothing in a file tells the unit of its speeds, if nothing does.

    With every speed in miles or kilometres an hour the solve is as good as with
    knots, and all speeds are wrong by the same factor. One speed whose unit is
    stated is enough: a clash with the other is far more than any port makes.
    Positions tell the ground speed, and impact pressure the airspeed.

    Args:
        airspeed_from: Which airspeed is used.

    Returns:
        A reason for not accepting points; empty if a unit is known.
    """
    there = {choice.quantity: choice for choice in columns}
    if airspeed_from in _VOUCHING or "ground_speed" not in there or "latitude" in there:
        return ""
    speeds = [there[quantity] for quantity in _SPEEDS if quantity in there]
    if any(choice.unit_stated or choice.mapped for choice in speeds):
        return ""
    headings = " or ".join(f"'{choice.heading}'" for choice in speeds)
    return (
        f"no unit is written with {headings}: {speeds[0].unit} is only assumed, and with all in "
        "miles or kilometres an hour it would look the same; write the unit into a heading or a "
        "mapping file"
    )


def assumed_units(columns: Sequence[ColumnChoice], airspeed_from: str) -> str:
    """Name the columns in use whose unit is only assumed; empty if there is none.

    Args:
        airspeed_from: Which airspeed is used.
    """
    there = {choice.quantity for choice in columns}
    ground = () if "latitude" in there else ("ground_speed",)
    used = {airspeed_from, *_AIR, *ground}
    unsure = [c for c in columns if c.quantity in used and not (c.unit_stated or c.mapped)]
    if not unsure:
        return ""
    named = " and ".join(f"'{choice.heading}' ({choice.unit} is assumed)" for choice in unsure)
    return f"no unit is written with {named}; write it into the heading or a mapping file"


def unit_warning(lines: Sequence[RunLine]) -> tuple[str, ...]:
    """Doubt the large errors of runs, those that count and those that do not.

    Returns:
        A sentence for each kind.
    """
    suspect = [line for line in lines if abs(line.kappa) > SUSPECT_KAPPA]
    counted = [line for line in suspect if line.accepted]
    others = [line for line in suspect if not line.accepted]
    check = "check the units of airspeed, altitude and temperature"
    found = []
    if counted:
        them = "it counts" if len(counted) == 1 else "they count"
        found.append(
            f"{_named(counted)}: the airspeed is off by {_sizes(counted)}, more than most static "
            f"ports make; nothing contradicts that, so {them}, but {check}"
        )
    if others:
        found.append(f"{_named(others)}: the airspeed would be off by {_sizes(others)}: {check}")
    return tuple(found)


def doubted(lines: Sequence[RunLine], doubt: str = "", assumed: str = "") -> list[RunLine]:
    """Take back the acceptance of runs that something contradicts.

    Args:
        lines: Of one flight.
        doubt: Why no run of it is to be accepted, known before.
        assumed: Which units are only assumed, so that a large error more likely is theirs.

    Returns:
        The same, with a reason where they are not accepted now.
    """
    reason = doubt or scaled_alike(lines)
    reasons = [reason or (_size(line, assumed) if is_large(line) else "") for line in lines]
    return [
        replace(line, accepted=False, reason=line.reason or why) if why else line
        for line, why in zip(lines, reasons, strict=True)
    ]


def is_large(line: Point) -> bool:
    """Tell whether an error is large enough to be held against what may contradict it."""
    return abs(line.dvpc_kt / line.vic_kt) > LARGE_SHARE


def _size(line: RunLine, why: str) -> str:
    return f"the airspeed would be off by {_sizes([line])}, and {why}" if why else ""


def scaled_alike(lines: Sequence[RunLine]) -> str:
    """Say that all speeds of a flight are off by one factor, if they are.

    Returns:
        Empty where an error is small or falls off as a port's does, and where all runs were flown
        at about one airspeed.
    """
    shares = np.array([line.dvpc_kt / line.vic_kt for line in lines])
    if len(lines) < 2 or np.ptp(np.sign(shares)) or np.abs(shares).min() <= _LEAST_SHARE:
        return ""
    speeds = np.log([line.vic_kt for line in lines])
    if np.abs(shares).mean() <= LARGE_SHARE or np.ptp(speeds) < np.log(_SPREAD):
        return ""
    kappa = np.array([line.kappa for line in lines])
    sure = np.abs(kappa) / np.array([line.u_kappa for line in lines])
    power, _ = np.polyfit(speeds, np.log(np.abs(kappa)), 1, w=sure)
    if power < _FLATTEST_PORT:
        return ""
    return (
        f"the airspeed would be off by {_sizes(lines)} at every speed flown{_mixed(shares)}: a "
        "wrong unit or column scales all speeds alike, and a static port's error falls off as the "
        "aircraft flies faster"
    )


def _mixed(shares: Sequence[float] | np.ndarray) -> str:
    """Name the units whose mixing up makes such a factor, if some do."""
    factor = float(np.mean(shares)) + 1.0
    if "mph" in (likely_unit(factor, "kt"), likely_unit(1.0 / factor, "kt")):
        return ", as where knots and miles an hour are mixed up"
    return ""


def _named(lines: Sequence[RunLine]) -> str:
    word = "run" if len(lines) == 1 else "runs"
    return f"{word} {', '.join(str(line.run) for line in lines)}"


def _sizes(lines: Sequence[RunLine]) -> str:
    off = sorted(100.0 * line.dvpc_kt / line.vic_kt for line in lines)
    low, high = (f"{share:+.0f}" for share in (off[0], off[-1]))
    return f"{low} %" if low == high else f"{low} to {high} %"
