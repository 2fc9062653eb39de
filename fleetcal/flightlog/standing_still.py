"""Columns that hold one value through a flight that cannot have been flown so.

`frozen` finds a stretch that stood still by what moved beside it. Here each column is held
against the flight alone: no flight with legs on several courses has one ground speed, no pilot
holds one airspeed or one height to the last digit, and air grows colder with height. What
stood still may have been flown all the same, so the log is doubted and not refused.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.flightlog.cells import Floats
from fleetcal.units import M_PER_FT, from_si

#: At most this share of a flight has one value of a column. In 48 logs of the simulator no speed
#: holds one for more than 0.13 of the time flown, and no altitude for more than 0.25.
MOST_HELD: Final = 0.9
#: For how long it must be flown so.
_SPEED_S: Final = 120.0
_HEIGHT_S: Final = 300.0
# A transponder gives hundreds of feet, and level flight may stay within one of them.
_COARSE_FT: Final = 100.0
_COARSE_S: Final = 1800.0
# Over so much height air of one temperature to the last digit is not found.
_LAYER_M: Final = 600.0
_FEWEST: Final = 20
_FLYING_MPS: Final = 20.0
_GROUND_MPS: Final = 10.0
_SHOWN: Final = {
    "ground_speed": "kt",
    "indicated_airspeed": "kt",
    "true_airspeed": "kt",
    "impact_pressure": "Pa",
    "pressure_altitude": "ft",
    "static_pressure": "hPa",
    "temperature": "degC",
    "track": "deg",
    "gps_altitude": "ft",
}
_SPEEDS: Final = ("ground_speed", "indicated_airspeed", "true_airspeed", "impact_pressure")
_HEIGHTS: Final = ("pressure_altitude", "static_pressure", "gps_altitude")


def stood_still(t_s: Floats, channels: Mapping[str, Floats]) -> dict[str, str]:
    """Find the columns that hold one value through a flight.

    Args:
        t_s: Shape (n,).
        channels (n,): SI, as logged.

    Returns:
        By quantity: a sentence that names column, value and share of the flight, without a stop.
    """
    found = {}
    for name in _SHOWN:
        if name not in channels:
            continue
        flying = _flying(channels, name) & np.isfinite(channels[name])
        if np.count_nonzero(flying) < _FEWEST:
            continue
        values = channels[name] if flying.all() else channels[name][flying]
        if not _may_be_held(values):
            continue
        value, share = _most_held(values)
        lasts = float(np.ptp(t_s[flying]))
        if share >= MOST_HELD and _cannot_be(name, value, lasts, channels, flying):
            found[name] = _words(name, value, share)
    return found


def _cannot_be(
    name: str,
    value: float,
    lasts_s: float,
    channels: Mapping[str, Floats],
    flying: npt.NDArray[np.bool_],
) -> bool:
    """Tell whether a column cannot have held a value for so long."""
    if name in _SPEEDS or name == "track":
        return lasts_s >= _SPEED_S
    if name in _HEIGHTS:
        if _also_on_the_ground(name, value, channels):
            return True
        coarse = name == "pressure_altitude" and _is_coarse(value)
        return lasts_s >= (_COARSE_S if coarse else _HEIGHT_S)
    height = channels.get("pressure_altitude")
    if height is None:
        return False
    known = height[flying & np.isfinite(height)]
    return bool(known.size >= _FEWEST and np.ptp(known) >= _LAYER_M)


def _is_coarse(metres: float) -> bool:
    """Tell whether an altitude is one of whole hundreds of feet."""
    feet = metres / M_PER_FT
    return abs(feet - _COARSE_FT * round(feet / _COARSE_FT)) < 0.5


def _also_on_the_ground(name: str, value: float, channels: Mapping[str, Floats]) -> bool:
    """Tell whether a height is that of the rows at rest too, before or after the flight."""
    rest = np.nan_to_num(channels["ground_speed"], nan=np.inf) < _GROUND_MPS
    rest &= np.isfinite(channels[name])
    return bool(rest.sum() >= _FEWEST and np.mean(channels[name][rest] == value) >= MOST_HELD)


def _flying(channels: Mapping[str, Floats], name: str) -> npt.NDArray[np.bool_]:
    """Tell where the other speeds are those of flight."""
    fast = np.zeros(channels[name].size, dtype=bool)
    speeds = [s for s in ("indicated_airspeed", "true_airspeed", "ground_speed") if s in channels]
    for speed in [one for one in speeds if one != name] or speeds:
        with np.errstate(invalid="ignore"):  # a missing one is none of flight
            fast |= channels[speed] > _FLYING_MPS
    return fast


def _may_be_held(values: Floats) -> bool:
    """Tell at a glance where no value can be held for long.

    Each sample that is not of the value held parts two pairs of neighbours at most.
    """
    pairs = np.count_nonzero(values[1:] == values[:-1])
    return bool(pairs >= (2.0 * MOST_HELD - 1.0) * values.size - 2.0)


def _most_held(values: Floats) -> tuple[float, float]:
    """Return the most frequent value, and its share."""
    # The middle value is the most frequent one wherever that holds more than half.
    half = values.size // 2
    middle = float(np.partition(values, half)[half])
    return middle, float(np.mean(values == middle))


def _words(name: str, value: float, share: float) -> str:
    unit = _SHOWN[name]
    shown = f"{from_si(value, unit):.6g} {unit}"
    through = "all of the flight" if share > 0.995 else f"{100.0 * share:.0f} % of the flight"
    return f"{name.replace('_', ' ').replace('gps', 'GPS')} stood still at {shown} in {through}"
