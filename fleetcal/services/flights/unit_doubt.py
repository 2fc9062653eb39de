"""Whether what a flight gives is more likely a wrong unit than a static port."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from fleetcal.flightlog import ColumnChoice
from fleetcal.services.flights.run_lines import RunLine

#: A |kappa| beyond this is warned of: it is what a slip of miles an hour and
#: knots, metres and feet or degrees F and C makes (0.15 to 0.25), and hardly any
#: static port does (common practice, no published source).
SUSPECT_KAPPA: Final = 0.15
# off by more than this share at every speed flown, a wrong unit is likelier than any port or leak
_SURELY_OFF: Final = 0.1
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


def unit_warning(lines: Sequence[RunLine]) -> tuple[str, ...]:
    """Warn of runs whose error hardly any static port makes.

    Returns:
        One warning, or none.
    """
    suspect = [line for line in lines if abs(line.kappa) > SUSPECT_KAPPA]
    if not suspect:
        return ()
    word = "run" if len(suspect) == 1 else "runs"
    numbers = ", ".join(str(line.run) for line in suspect)
    return (
        f"{word} {numbers}: the airspeed would be off by {_sizes(suspect)}, which hardly any "
        "static port does: check the units of airspeed, altitude and temperature",
    )


def doubted(lines: Sequence[RunLine], doubt: str = "") -> list[RunLine]:
    """Take back the acceptance of runs of a doubtful flight.

    Runs are doubtful that are all off as a wrong unit puts them.

    A port that is wrong at low speed comes right at high speed, and a leak
    makes less; a slip of miles an hour and knots makes 13 or 15 % at any speed.

    Args:
        lines: Of one flight.
        doubt: Why no run of it is to be accepted, known before.

    Returns:
        The same, with a reason where they are not accepted now.
    """
    reason = doubt
    if lines and all(abs(line.dvpc_kt / line.vic_kt) > _SURELY_OFF for line in lines):
        reason = (
            f"the airspeed would be off by {_sizes(lines)} at every speed flown: a wrong unit or "
            "column is likelier than such a static port"
        )
    if not reason:
        return list(lines)
    return [replace(line, accepted=False, reason=line.reason or reason) for line in lines]


def _sizes(lines: Sequence[RunLine]) -> str:
    off = sorted(100.0 * line.dvpc_kt / line.vic_kt for line in lines)
    low, high = (f"{share:+.0f}" for share in (off[0], off[-1]))
    return f"{low} %" if low == high else f"{low} to {high} %"
