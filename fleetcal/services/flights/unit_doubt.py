"""Whether a large error of a flight counts: what in the flight itself contradicts it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from fleetcal.flightlog import ColumnChoice
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.services.large_error import is_large, sizes

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
    stated is enough: a clash with the other is a large error, which does not count
    where a unit is only assumed.
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


def doubted(lines: Sequence[RunLine], doubt: str = "", assumed: str = "") -> list[RunLine]:
    """Take back the acceptance of runs that something contradicts.

    Args:
        lines: Of one flight.
        doubt: Why no run of it is to be accepted.
        assumed: Which units are only assumed, so that a large error more likely is theirs.

    Returns:
        The same, with a reason where they are not accepted now.
    """
    reasons = [doubt or (_size(line, assumed) if is_large(line) else "") for line in lines]
    return [
        replace(line, accepted=False, reason=line.reason or why) if why else line
        for line, why in zip(lines, reasons, strict=True)
    ]


def _size(line: RunLine, why: str) -> str:
    return f"the airspeed would be off by {sizes([line])}, and {why}" if why else ""
