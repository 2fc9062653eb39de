"""What a file must hold to be of use, and how its lack is put into words."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Final, TypeAlias

import numpy as np

from fleetcal.errors import MissingColumnError
from fleetcal.flightlog.cells import Floats
from fleetcal.flightlog.clock import CLOCK_QUANTITIES
from fleetcal.flightlog.columns import ColumnChoice, unread_units
from fleetcal.flightlog.logged import Headed
from fleetcal.flightlog.raw_table import RawTable

Needs: TypeAlias = tuple[tuple[str, tuple[set[str], ...], str], ...]

_MOST_HEADINGS: Final = 40
_AIRSPEEDS: Final = ({"indicated_airspeed"}, {"impact_pressure"}, {"true_airspeed"})
_ALTITUDES: Final = (
    {"pressure_altitude"},
    {"static_pressure"},
    {"baro_altitude", "altimeter_setting"},
)
_TEMPERATURES: Final = (
    {"static_temperature"},
    {"total_temperature"},
    {"probe_temperature"},
    {"temperature"},
)
# what is looked for, by which any one of sets of quantities, and what to do about it
_NEEDS: Final[Needs] = (
    (
        "a ground speed column",
        ({"ground_speed"}, {"latitude", "longitude"}),
        "Straight legs are solved from satellite ground speed and track; log both.",
    ),
    (
        "a GPS ground track column",
        ({"track"}, {"latitude", "longitude"}),
        "A heading does not replace it: log the satellite track (course over ground).",
    ),
    (
        "an outside air temperature column",
        _TEMPERATURES,
        "True airspeed depends on air temperature; head the column for instance 'OAT (degC)', or "
        "give what the gauge showed at the height flown: --oat 8C.",
    ),
    (
        "an airspeed column (indicated or true airspeed, or impact pressure)",
        _AIRSPEEDS,
        "Head it for instance 'IAS (kt)'; calibrated airspeed is no reading and is not used.",
    ),
    (
        "a pressure altitude or static pressure column",
        _ALTITUDES,
        "GPS altitude will not do. Head an altitude with 1013.25 hPa set 'pressure altitude (ft)';"
        " of an altitude with another setting, headed 'indicated altitude (ft)', log 'altimeter "
        "setting (hPa)' too, or give it: --altimeter-setting 1002.",
    ),
)
# on paper there is neither impact nor static pressure
_SHEET_NEEDS: Final[Needs] = (
    ("a ground speed column", ({"ground_speed"},), _NEEDS[0][2]),
    ("a GPS ground track column", ({"track"},), _NEEDS[1][2]),
    _NEEDS[2],
    ("an indicated airspeed column", ({"indicated_airspeed"},), _NEEDS[3][2]),
    ("a pressure altitude column", (_ALTITUDES[0], _ALTITUDES[2]), _NEEDS[4][2]),
)


def require_essentials(
    table: Headed,
    choices: tuple[ColumnChoice, ...],
    channels: Mapping[str, Floats] | None = None,
    noted: Collection[str] = (),
) -> None:
    """Refuse a log in which an essential quantity is missing.

    Args:
        channels: The values read: a quantity without any value is missing, too.
        noted: Quantities that were noted outside the file.

    Raises:
        MissingColumnError: Naming what was looked for and which headings are there.
    """
    present = {choice.quantity for choice in choices}
    if channels is not None:
        # by now, positions have been made use of as far as they go
        present = {q for q, values in channels.items() if _has_values(values)} - {"latitude"}
    elif not present & set(CLOCK_QUANTITIES):
        raise MissingColumnError(
            f"{table.source_name}: no clock column found{_headings(table)}.",
            "A log needs a time for each row; only a short sheet of legs may do without.",
        )
    empty = " with values in it" if channels is not None else ""
    _refuse_lack(table, present | {*noted}, _NEEDS, empty)


def _has_values(values: Floats) -> bool:
    """Tell whether any value is there; the first ones tell of nearly every column."""
    return bool(np.isfinite(values[:100]).any() or np.isfinite(values).any())


def require_sheet_essentials(
    table: Headed, choices: tuple[ColumnChoice, ...], noted: Collection[str] = ()
) -> None:
    """Refuse a sheet of legs in which an essential quantity is missing; it needs no clock.

    Args:
        noted: Quantities that were noted outside the file.

    Raises:
        MissingColumnError: Naming what was looked for and which headings are there.
    """
    present = {choice.quantity for choice in choices}
    _refuse_lack(table, present | {*noted}, _SHEET_NEEDS, "")


def _refuse_lack(table: Headed, present: set[str], needs: Needs, empty: str) -> None:
    """Raise for the first need that nothing present meets."""
    unread = unread_units(table) if isinstance(table, RawTable) else {}
    for lacking, any_of, hint in needs:
        if not any(needed <= present for needed in any_of):
            for quantity in sorted(set().union(*any_of) & unread.keys()):
                raise MissingColumnError(
                    f"{table.source_name}: {lacking} is needed, but the unit of "
                    f"'{unread[quantity][0]}' is not known.",
                    "Convert the column to a unit such as kt, m/s, ft, m, hPa, inHg, degC or K.",
                )
            raise MissingColumnError(
                f"{table.source_name}: {lacking}{empty} was looked for and not found"
                f"{_headings(table)}.",
                hint,
            )


def _headings(table: Headed) -> str:
    """List the headings of a table for a message."""
    shown = ", ".join(f"'{heading}'" for heading in table.headings[:_MOST_HEADINGS] if heading)
    more = len(table.headings) - _MOST_HEADINGS
    return f" among the headings {shown}" + (f" and {more} more" if more > 0 else "")
