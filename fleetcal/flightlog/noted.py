"""A temperature or an altimeter setting that somebody noted, where a file does not log it.

One temperature holds for one height. It is brought to the other heights of the flight by the
standard lapse of 6.5 K/km (ISO 2533:1975); weather has anything from none to 9.8 K/km, the dry
adiabatic lapse, so that the slope is known to about 3 K/km (JCGM 100:2008, 4.3.7: the width
over the root of 12). That the gauge was read once, to a degree, and the air changes along the
way, is taken as 1.5 K: common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fleetcal.errors import ImplausibleError
from fleetcal.flightlog.altimeter import pressure_altitude_from_setting
from fleetcal.flightlog.cells import Floats
from fleetcal.flightlog.columns import ColumnChoice, lone_altitude
from fleetcal.flightlog.raw_table import RawTable
from fleetcal.units import from_si

_LAPSE_KPM: Final = 0.0065
_U_LAPSE_KPM: Final = 0.003
_U_ONCE_K: Final = 1.5
_SEA_LEVEL_K: Final = 288.15
_MOST_OFF_K: Final = 45.0  # from the standard atmosphere: no flying weather
_DIFFER_K: Final = 3.0
_DIFFER_PA: Final = 100.0
_TEMPERATURES: Final = ("static_temperature", "total_temperature", "probe_temperature")


@dataclass(frozen=True)
class Noted:
    """What was noted of a flight and may stand in for a column.

    Attributes:
        temperature_k: Read from the gauge at the height that most was flown at.
        setting_pa: Of the altimeter, the same for all of the flight.
    """

    temperature_k: float | None = None
    setting_pa: float | None = None

    @property
    def quantities(self) -> set[str]:
        """Names of the quantities that need no column."""
        given = {"temperature": self.temperature_k, "altimeter_setting": self.setting_pa}
        return {name for name, value in given.items() if value is not None}


NOTHING_NOTED: Final = Noted()


@dataclass(frozen=True)
class NotedTemperature:
    """A noted temperature in the place of a logged one.

    Attributes:
        altitude_m: Pressure altitude that it is taken to hold for.
        u_k: Standard uncertainty that comes from its being noted once, K.
    """

    temperature_k: float
    altitude_m: float
    u_k: float


def with_noted_altitude(
    table: RawTable, choices: tuple[ColumnChoice, ...], noted: Noted
) -> tuple[ColumnChoice, ...]:
    """Take a column that is headed altitude alone for the altimeter, where its setting is noted.

    Args:
        choices: By the headings and a mapping.
    """
    known = {choice.quantity for choice in choices}
    if noted.setting_pa is None or known & {"pressure_altitude", "static_pressure"}:
        return choices
    lone = None if "baro_altitude" in known else lone_altitude(table)
    if lone is None or any(choice.index == lone.index for choice in choices):
        return choices
    return tuple(sorted((*choices, lone), key=lambda choice: choice.index))


def noted_channels(
    where: str, channels: dict[str, Floats], resolution: dict[str, float], noted: Noted
) -> list[str]:
    """Bring an altimeter to pressure altitude by a noted setting, and say what is not used.

    Args:
        where: Name of the file.
        channels, resolution: Are added to.

    Returns:
        Warnings.
    """
    warnings = []
    if noted.temperature_k is not None:
        warnings += _temperature_clash(where, channels, noted.temperature_k)
    setting = noted.setting_pa
    if setting is None:
        return warnings
    shown = f"the altimeter setting noted, {from_si(setting, 'hPa'):.1f} hPa,"
    for quantity in ("pressure_altitude", "static_pressure"):
        if _filled(channels, quantity):
            words = quantity.replace("_", " ")
            return [*warnings, f"{where}: {words} is logged, so {shown} is not used"]
    if _filled(channels, "altimeter_setting"):
        logged = float(np.nanmedian(channels["altimeter_setting"]))
        off = abs(logged - setting) > _DIFFER_PA
        differ = f"; it shows {from_si(logged, 'hPa'):.1f} hPa" if off else ""
        return [*warnings, f"{where}: a setting is logged, so {shown} is not used{differ}"]
    if _filled(channels, "baro_altitude"):
        baro = channels["baro_altitude"]
        channels["pressure_altitude"] = pressure_altitude_from_setting(baro, np.asarray(setting))
        resolution["pressure_altitude"] = resolution.get("baro_altitude", 0.0)
        warnings.append(f"{where}: pressure altitude is worked out with {shown} all flight")
    return warnings


def _temperature_clash(
    where: str, channels: Mapping[str, Floats], temperature_k: float
) -> list[str]:
    logged = next((q for q in _TEMPERATURES if _filled(channels, q)), None)
    if logged is None:
        return []
    shown = f"{from_si(temperature_k, 'degC'):.0f} degC"
    middle = float(np.nanmedian(channels[logged]))
    off = abs(middle - temperature_k) > _DIFFER_K
    differ = f"; the log shows {from_si(middle, 'degC'):.0f} degC on the median" if off else ""
    return [f"{where}: a temperature is logged, so the noted {shown} is not used{differ}"]


def settle_noted_temperature(
    where: str, channels: dict[str, Floats], resolution: dict[str, float], noted: Noted
) -> NotedTemperature | None:
    """Put a noted temperature where none is logged.

    Args:
        channels, resolution: Are added to; with a height and ground speed.

    Returns:
        What it is taken from; None where a temperature is logged or none is noted.
    """
    if noted.temperature_k is None or "temperature" in channels:
        return None
    altitude = channels.get("pressure_altitude")
    if altitude is None:
        pressure = channels["static_pressure"]
        altitude = pressure_altitude_from_setting(np.zeros(pressure.size), pressure)
    channels["temperature"], taken = noted_temperature(
        where, altitude, channels["ground_speed"], noted.temperature_k
    )
    resolution["temperature"] = 0.0
    return taken


def noted_temperature(
    where: str, altitude_m: Floats, flying: Floats, temperature_k: float
) -> tuple[Floats, NotedTemperature]:
    """Bring a noted temperature to every height of a flight.

    Args:
        where: Name of the file.
        altitude_m (n,): Pressure altitude, NaN where missing.
        flying (n,): A speed; what is faster than half of the fastest is flown, not taxied.

    Returns:
        Shape (n,): Temperatures, and what they are taken from.

    Raises:
        ImplausibleError: If no weather has such a temperature at that height.
    """
    known = np.isfinite(altitude_m) & np.isfinite(flying)
    flown = known & (flying >= 0.5 * np.max(flying[known], initial=0.0))
    heights = altitude_m[flown] if flown.any() else np.zeros(1)
    height = float(np.median(heights))
    off = temperature_k - (_SEA_LEVEL_K - _LAPSE_KPM * height)
    if abs(off) > _MOST_OFF_K:
        degrees = from_si(temperature_k, "degC")
        raise ImplausibleError(
            f"{where}: the noted temperature, {degrees:.0f} degC, is {abs(off):.0f} degC "
            f"{'warmer' if off > 0.0 else 'colder'} than usual at {from_si(height, 'ft'):.0f} ft",
            "write its unit behind it, such as 8C or 46F",
        )
    spread = float(np.sqrt(np.mean((heights - height) ** 2)))
    taken = NotedTemperature(
        temperature_k, height, float(np.hypot(_U_ONCE_K, _U_LAPSE_KPM * spread))
    )
    return temperature_k - _LAPSE_KPM * (altitude_m - height), taken


def joined_noted(parts: list[NotedTemperature | None]) -> NotedTemperature | None:
    """Return what holds for all parts of a file: the first with the largest uncertainty."""
    found = [part for part in parts if part is not None]
    return replace(found[0], u_k=max(part.u_k for part in found)) if found else None


def _filled(channels: Mapping[str, Floats], quantity: str) -> bool:
    return quantity in channels and bool(np.isfinite(channels[quantity]).any())
