"""The one gate for points and climbs on every way in: reduced, measured, imported or merged.

What cannot be is refused where a file is read. What passes here without a reason counts; what
is doubted is kept and not accepted, with the reason, until somebody accepts it by its number.
Nothing here looks at other points: `known_port` and `large_error` do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any, Final, TypeVar

import numpy as np

from fleetcal.airdata.atmosphere import (
    SEA_LEVEL_DENSITY_KGM3,
    Array,
    density,
    pressure_from_altitude,
    standard_temperature,
)
from fleetcal.errors import ImplausibleError
from fleetcal.records import (
    GPS_LEGS,
    GPS_MANOEUVRE,
    ORDINARY_FLIGHT,
    Climb,
    Point,
    columns_of,
    unusual,
    values_of,
)
from fleetcal.services.plausible_weight import weight_doubt
from fleetcal.units import to_si

One = TypeVar("One", bound=Point | Climb)

#: No computer that runs this is older, whatever its clock says.
_WRITTEN: Final = date(2026, 11, 27)
#: Satellite positions were public and complete from about then on; light aircraft were flown
#: with a static system worth a table since about the earlier day.
_FIRST_BY_SATELLITE: Final = date(1990, 1, 1)
_FIRST: Final = date(1930, 1, 1)
_BY_SATELLITE: Final = frozenset({GPS_LEGS, GPS_MANOEUVRE, ORDINARY_FLIGHT})
_TURNING: Final = frozenset({GPS_MANOEUVRE, ORDINARY_FLIGHT})
# Air further from the standard one is unheard of; logs are refused beyond it.
_FROM_STANDARD_K: Final = 45.0
# A true airspeed may differ from that of its CAS and height by so large a share.
_TAS_OFF: Final = 0.2
_USUAL: Final = {
    kind: {name: column for name, column in columns_of(kind).items() if column.usual}
    for kind in (Point, Climb)
}


@dataclass(frozen=True, kw_only=True)
class HeldAgainst:
    """What a point is held against.

    Attributes:
        reference_kg: NaN where it is not known or was only supposed.
        flown_on: None in a preview without a day.
    """

    type_name: str = ""
    reference_kg: float = float("nan")
    flown_on: date | None = None


def last_day() -> date:
    """Return the last day on which anything can have been flown, anywhere on earth."""
    return max(date.today(), _WRITTEN) + timedelta(days=1)


def require_flown(day: date, where: str) -> None:
    """Refuse a day that is still to come.

    Args:
        where: Of what, for the message.

    Raises:
        ImplausibleError: If it is.
    """
    if day > last_day():
        raise ImplausibleError(
            f"{where}: {day} is still to come",
            "correct the day; if it is right, set the clock of this computer",
        )


def doubt_of(
    values: Mapping[str, Any], flown: HeldAgainst, kind: type[Point] | type[Climb] = Point
) -> str:
    """Return why a point or climb is not accepted by itself, empty if nothing speaks against it.

    Args:
        values: By column of its kind.
    """
    reasons = (unusual(column, values.get(name)) for name, column in _USUAL[kind].items())
    return (
        _weight(values, flown)
        or day_doubt(values.get("technique", ORDINARY_FLIGHT), flown.flown_on)
        or next(filter(None, reasons), "")
        or _temperature(values)
        or _true_airspeed(values)
    )


def doubted(points: Sequence[One], flown: HeldAgainst) -> tuple[One, ...]:
    """Take back the acceptance of points or climbs that are doubted.

    Returns:
        Those that are not accepted already keep their reason.
    """
    found = []
    for point in points:
        kind = Climb if isinstance(point, Climb) else Point
        reason = doubt_of(values_of(kind, point), flown, kind) if point.accepted else ""
        found.append(replace(point, accepted=False, reason=reason) if reason else point)
    return tuple(found)


def _weight(values: Mapping[str, Any], flown: HeldAgainst) -> str:
    weight = values["weight_kg"]
    if not np.isfinite(weight) or not np.isfinite(flown.reference_kg):
        return ""
    turning = values.get("technique") in _TURNING
    return weight_doubt(weight, flown.type_name, flown.reference_kg, turning=turning)


def day_doubt(technique: str, day: date | None) -> str:
    """Return why a day is doubted, empty if it may be one; no technique is one by satellite."""
    if day is None:
        return ""
    if day > last_day():
        return f"its day, {day}, was still to come: correct the day"
    if day < _FIRST:
        return f"its day, {day}, is before {_FIRST.year}: check the day"
    if technique in (*_BY_SATELLITE, "") and day < _FIRST_BY_SATELLITE:
        return (
            f"its day, {day}, is before satellite positions served light aircraft "
            f"({_FIRST_BY_SATELLITE.year}): check the day"
        )
    return ""


def rows_to_look_at(values: Mapping[str, Any]) -> list[int]:
    """Return the rows of a block of points that `doubt_of` may have a reason against.

    Args:
        values: Columns of points by name: ndarray of float, shape (rows,), NaN for nothing.

    Returns:
        Places of the rows; weight and day are not looked at.
    """
    feet = values["pressure_altitude_ft"]
    usual = [name for name in _USUAL[Point] if name in values]
    known = {name: np.asarray(values[name], dtype=np.float64) for name in usual}
    odd = np.zeros(len(feet), dtype=bool)
    for name, column in known.items():
        low, high = _USUAL[Point][name].usual or (-np.inf, np.inf)
        odd |= (column < low) | (column > high)
    odd |= np.abs(_from_standard_k(known["oat_degc"], feet)) > _FROM_STANDARD_K
    odd |= np.abs(_share_of_tas(known, feet) - 1.0) > _TAS_OFF
    return [int(row) for row in np.flatnonzero(odd)]


def _from_standard_k(oat_degc: Array, feet: Array) -> Array:
    """Return how much warmer than standard air is, K; NaN where it is not known."""
    standard = standard_temperature(to_si(feet, "ft"))
    return np.asarray(to_si(oat_degc, "degC") - standard)


def _share_of_tas(values: Mapping[str, Array], feet: Array) -> Array:
    """Return true airspeed over that which goes with IAS and height; NaN where it is not known."""
    metres, oat = to_si(feet, "ft"), values["oat_degc"]
    kelvin = np.where(np.isnan(oat), standard_temperature(metres), to_si(oat, "degC"))
    light = SEA_LEVEL_DENSITY_KGM3 / density(pressure_from_altitude(metres), kelvin)
    expected = values["vic_kt"] * np.sqrt((1.0 + values["kappa"]) * light)
    return np.asarray(values["tas_kt"] / expected)


def _temperature(values: Mapping[str, Any]) -> str:
    feet, oat = values["pressure_altitude_ft"], _known(values, "oat_degc")
    warmer = float(_from_standard_k(oat, np.asarray(feet)))
    if not abs(warmer) > _FROM_STANDARD_K:
        return ""
    return (
        f"air of {float(oat):.0f} °C at {feet:.0f} ft is {abs(warmer):.0f} °C from the standard "
        f"{float(oat) - warmer:.0f} °C: check temperature and altitude and their units"
    )


def _true_airspeed(values: Mapping[str, Any]) -> str:
    names = ("tas_kt", "oat_degc", "vic_kt", "kappa")
    known = {name: _known(values, name) for name in names}
    feet = values["pressure_altitude_ft"]
    share = float(_share_of_tas(known, np.asarray(feet)))
    if not abs(share - 1.0) > _TAS_OFF:
        return ""
    tas = float(known["tas_kt"])
    return (
        f"a true airspeed of {tas:.0f} kt does not go with {float(known['vic_kt']):.0f} kt "
        f"indicated at {feet:.0f} ft, where it is about {tas / share:.0f} kt: check both columns"
    )


def _known(values: Mapping[str, Any], name: str) -> Array:
    value = values.get(name)
    return np.asarray(np.nan if value is None else value, dtype=np.float64)
