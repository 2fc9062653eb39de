"""Columns of one log that contradict each other, or the atmosphere."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

import numpy as np

from fleetcal.errors import ImplausibleError
from fleetcal.flightlog.altimeter import pressure_altitude_from_setting
from fleetcal.flightlog.cells import Floats
from fleetcal.flightlog.columns import ColumnChoice
from fleetcal.flightlog.positions import COARSEST_RAD, ground_vector
from fleetcal.flightlog.unit_swaps import likely_unit
from fleetcal.units import M_PER_FT, from_si, to_si

_MOST_ROWS: Final = 20_000
_FLYING_MPS: Final = 20.0
_SEA_LEVEL_K: Final = 288.15
_LAPSE_KPM: Final = 0.0065
# an air temperature further from the standard one than this is rare, and than that unheard of
_RARE_K: Final = 35.0
_NEVER_K: Final = 45.0
_APART_M: Final = 45.0
_FAR_APART_M: Final = 450.0
_GPS_APART_M: Final = 1000.0
_CLIMB_M: Final = 300.0
_SPEED_OFF: Final = 0.04
_TRACK_OFF_DEG: Final = 3.0
_HINT: Final = (
    "Correct the unit in a mapping file (see 'fleetcal columns --help'); "
    "'believe = true' there takes the column as it is."
)


def contradictions(
    source_name: str,
    t_s: Floats,
    channels: Mapping[str, Floats],
    columns: tuple[ColumnChoice, ...],
    resolution: Mapping[str, float],
) -> tuple[str, ...]:
    """Compare columns that tell of the same thing.

    Args:
        t_s: Shape (n,).
        channels (n,): SI.

    Returns:
        What contradicts, with figures, where it does no harm or was stated by hand.

    Raises:
        ImplausibleError: If the result would be wrong: altitudes or speeds in another unit than
            stated, or an air temperature that cannot be.
    """
    chosen = {choice.quantity: choice for choice in columns}
    checks = (
        *_static_against_altitude(channels, chosen),
        *_gps_against_altitude(channels, chosen),
        *_temperature(channels, chosen),
        *_ground_against_positions(t_s, channels, chosen, resolution),
    )
    for words, harmful, quantity in checks:
        choice = chosen.get(quantity)
        if harmful and not (choice and choice.believed):
            raise ImplausibleError(f"{source_name}: {words}.", _HINT)
    return tuple(words for words, _, _ in checks)


_Found = list[tuple[str, bool, str]]


def _thin(values: Floats) -> Floats:
    return values[:: max(1, values.size // _MOST_ROWS)]


def _named(chosen: Mapping[str, ColumnChoice], quantity: str) -> str:
    words = quantity.replace("_", " ")
    return f"{words} '{chosen[quantity].heading}'" if quantity in chosen else words


def _static_against_altitude(
    channels: Mapping[str, Floats], chosen: Mapping[str, ColumnChoice]
) -> _Found:
    """Compare pressure altitude with the static pressure beside it."""
    if not {"pressure_altitude", "static_pressure"} <= chosen.keys() & channels.keys():
        return []
    altitude, pressure = (_thin(channels[q]) for q in ("pressure_altitude", "static_pressure"))
    by_pressure = pressure_altitude_from_setting(np.zeros(pressure.size), pressure)
    apart = altitude - by_pressure
    known = apart[np.isfinite(apart)]
    if not known.size or abs(float(np.median(known))) <= _APART_M:
        return []
    middle = float(np.median(known))
    finding = (
        f"{_named(chosen, 'pressure_altitude')} is {middle / M_PER_FT:+.0f} ft off what "
        f"{_named(chosen, 'static_pressure')} gives"
    )
    unit = _altitude_unit(altitude, by_pressure, chosen)
    if unit:
        finding += f": its numbers look like {unit}"
    elif float(np.std(known)) < _APART_M:
        # the setting that moves the scale by so much: see pressure_altitude_from_setting
        setting = 1013.25 * (1.0 + _LAPSE_KPM * middle / _SEA_LEVEL_K) ** 5.2558797
        finding += f": as if the altimeter were set to {setting:.0f} hPa"
    harmful = unit is not None or abs(middle) > _FAR_APART_M
    return [(finding, harmful, "pressure_altitude")]


def _altitude_unit(
    altitude: Floats, other: Floats, chosen: Mapping[str, ColumnChoice]
) -> str | None:
    """Return the unit that explains how much faster one altitude climbs than another."""
    known = np.isfinite(altitude) & np.isfinite(other)
    if known.sum() < 10 or np.ptp(other[known]) < _CLIMB_M:
        return None
    slope = float(np.polyfit(other[known], altitude[known], 1)[0])
    return likely_unit(slope, chosen["pressure_altitude"].unit, within=0.12)


def _gps_against_altitude(
    channels: Mapping[str, Floats], chosen: Mapping[str, ColumnChoice]
) -> _Found:
    """Compare pressure altitude with satellite altitude, as far as weather allows."""
    if not {"pressure_altitude", "gps_altitude"} <= chosen.keys() & channels.keys():
        return []
    altitude, gps = (_thin(channels[q]) for q in ("pressure_altitude", "gps_altitude"))
    unit = _altitude_unit(altitude, gps, chosen)
    if unit:
        return [
            (
                f"{_named(chosen, 'pressure_altitude')} climbs as if its numbers were {unit} "
                f"when compared with {_named(chosen, 'gps_altitude')}",
                True,
                "pressure_altitude",
            )
        ]
    apart = (altitude - gps)[np.isfinite(altitude - gps)]
    if not apart.size or abs(float(np.median(apart))) <= _GPS_APART_M:
        return []
    feet = float(np.median(apart)) / M_PER_FT
    return [
        (
            f"{_named(chosen, 'gps_altitude')} is {-feet:+.0f} ft off the pressure altitude, "
            "more than weather explains; it is not used",
            False,
            "gps_altitude",
        )
    ]


def _temperature(channels: Mapping[str, Floats], chosen: Mapping[str, ColumnChoice]) -> _Found:
    """Compare the air temperature with the standard atmosphere."""
    names = ("static_temperature", "total_temperature", "probe_temperature")
    quantity = next((name for name in names if name in chosen), None)
    if quantity is None or "temperature" not in channels:
        return []
    altitude = _best_altitude(channels)
    temperature = _thin(channels["temperature"])
    above = temperature - (_SEA_LEVEL_K - _LAPSE_KPM * np.minimum(altitude, 11000.0))
    known = above[np.isfinite(above)]
    if not known.size:
        return []
    found: _Found = []
    middle = float(np.median(known))
    if abs(middle) > _RARE_K:
        finding = f"{_named(chosen, quantity)} is {middle:+.0f} K off the standard atmosphere"
        unit = chosen[quantity].unit
        for other in ("degF", "degC", "K"):
            shift = to_si(from_si(temperature, unit), other) - temperature
            if other != unit and abs(middle + float(np.nanmedian(shift))) < _RARE_K - 10.0:
                finding += f"; its numbers look like {other}"
                break
        found.append((finding, abs(middle) > _NEVER_K, quantity))
    climb = altitude[np.isfinite(altitude)]
    still = temperature[np.isfinite(temperature)]
    if climb.size and np.ptp(climb) > 3.0 * _CLIMB_M and still.size > 10 and not np.ptp(still):
        words = f"{_named(chosen, quantity)} does not change over {np.ptp(climb) / M_PER_FT:.0f}"
        found.append((f"{words} ft of climb and descent", False, quantity))
    return found


def _best_altitude(channels: Mapping[str, Floats]) -> Floats:
    if "pressure_altitude" in channels:
        return _thin(channels["pressure_altitude"])
    pressure = _thin(channels["static_pressure"])
    return pressure_altitude_from_setting(np.zeros(pressure.size), pressure)


def _ground_against_positions(
    t_s: Floats,
    channels: Mapping[str, Floats],
    chosen: Mapping[str, ColumnChoice],
    resolution: Mapping[str, float],
) -> _Found:
    """Compare logged ground speed and track with the way between positions."""
    needed = {"latitude", "longitude", "ground_speed", "track"}
    if not needed <= chosen.keys():
        return []
    step = max(resolution.get("latitude", 0.0), resolution.get("longitude", 0.0))
    if step > COARSEST_RAD:
        return []
    part = slice(None, _MOST_ROWS)
    height = float(np.nan_to_num(np.nanmedian(_best_altitude(channels))))
    speed, track = ground_vector(
        t_s[part], channels["latitude"][part], channels["longitude"][part], height
    )
    logged = channels["ground_speed"][part]
    with np.errstate(invalid="ignore"):
        fast = (speed > _FLYING_MPS) & (logged > 1.0)
    if fast.sum() < 30:
        return []
    found: _Found = []
    ratio = float(np.median(logged[fast] / speed[fast]))
    if abs(math.log(ratio)) > _SPEED_OFF:
        unit = likely_unit(ratio, chosen["ground_speed"].unit)
        finding = f"{_named(chosen, 'ground_speed')} is {ratio:.2f} times what the positions give"
        finding += f": its numbers look like {unit}" if unit else ""
        found.append((finding, abs(math.log(ratio)) > 2.0 * _SPEED_OFF, "ground_speed"))
    turn = channels["track"][part][fast] - track[fast]
    turn = turn[np.isfinite(turn)]
    if not turn.size:
        return found
    off = math.degrees(float(np.median(np.remainder(turn + math.pi, 2.0 * math.pi) - math.pi)))
    if abs(off) > _TRACK_OFF_DEG:
        found.append(
            (
                f"{_named(chosen, 'track')} is {off:+.0f} degrees off what the positions give; "
                "it may count from magnetic north",
                abs(off) > 45.0,
                "track",
            )
        )
    return found
