"""Subsonic pitot-static relations and their closed-form inverses.

All relations follow from isentropic flow of air with a heat-capacity ratio of
1.4. Source: W. Gracey, Measurement of Aircraft Speed and Altitude, NASA
RP-1046 (1980), chapter 3. They hold to Mach 0.9 here; forms with expm1 and
log1p keep full precision at walking speed.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import (
    SEA_LEVEL_PRESSURE_PA,
    SEA_LEVEL_SOUND_SPEED_MPS,
    Array,
    require_between,
    speed_of_sound,
)

HIGHEST_MACH: Final = 0.9
_HIGHEST_CALIBRATED_MPS: Final = HIGHEST_MACH * SEA_LEVEL_SOUND_SPEED_MPS


def pressure_ratio_from_mach(mach: npt.ArrayLike) -> Array:
    """Return qc/ps, impact pressure over static pressure.

    Args:
        mach (array_like, any shape): Mach number, 0 to 0.9.

    Returns:
        Same shape: Ratio without unit.

    Raises:
        OutOfRangeError: If a Mach number lies outside the range.
    """
    m = require_between(mach, 0.0, HIGHEST_MACH, "Mach number", "")
    return np.expm1(3.5 * np.log1p(0.2 * m * m))


def mach_from_pressure_ratio(ratio: npt.ArrayLike) -> Array:
    """Return the Mach number, the inverse of `pressure_ratio_from_mach`.

    Args:
        ratio (array_like, any shape): qc/ps, 0 to its value at Mach 0.9.

    Returns:
        Same shape: Mach number.

    Raises:
        OutOfRangeError: If a ratio lies outside the range.
    """
    q = require_between(ratio, 0.0, _HIGHEST_RATIO * (1 + 1e-12), "qc/ps", "")
    return np.sqrt(5.0 * np.expm1(np.log1p(q) / 3.5))


_HIGHEST_RATIO: Final = float(pressure_ratio_from_mach(HIGHEST_MACH))


def impact_pressure_from_airspeed(airspeed_mps: npt.ArrayLike) -> Array:
    """Return the impact pressure that an airspeed scale is drawn for.

    Args:
        airspeed_mps (array_like, any shape): Calibrated (or indicated) airspeed, 0 to 306 m/s.

    Returns:
        Same shape: Impact pressure, Pa.

    Raises:
        OutOfRangeError: If an airspeed lies outside the range.
    """
    speed = require_between(airspeed_mps, 0.0, _HIGHEST_CALIBRATED_MPS, "airspeed", "m/s")
    return SEA_LEVEL_PRESSURE_PA * pressure_ratio_from_mach(speed / SEA_LEVEL_SOUND_SPEED_MPS)


def airspeed_from_impact_pressure(impact_pressure_pa: npt.ArrayLike) -> Array:
    """Return the airspeed on the scale, the inverse of `impact_pressure_from_airspeed`.

    Args:
        impact_pressure_pa (array_like, any shape): Impact pressure, Pa, from 0.

    Returns:
        Same shape: Calibrated (or indicated) airspeed, m/s.

    Raises:
        OutOfRangeError: If a pressure is negative or beyond the scale.
    """
    highest = SEA_LEVEL_PRESSURE_PA * _HIGHEST_RATIO * (1 + 1e-12)
    impact = require_between(impact_pressure_pa, 0.0, highest, "impact pressure", "Pa")
    ratio = np.minimum(impact / SEA_LEVEL_PRESSURE_PA, _HIGHEST_RATIO)
    return SEA_LEVEL_SOUND_SPEED_MPS * mach_from_pressure_ratio(ratio)


def true_airspeed(mach: npt.ArrayLike, temperature_k: npt.ArrayLike) -> Array:
    """Return the true airspeed.

    Args:
        mach: Mach number.
        temperature_k (array_like, broadcastable): Ambient temperature, K.

    Returns:
        Broadcast shape: True airspeed, m/s.

    Raises:
        OutOfRangeError: If a temperature lies outside 100 to 400 K.
    """
    return np.asarray(mach, dtype=np.float64) * speed_of_sound(temperature_k)


def equivalent_airspeed(mach: npt.ArrayLike, pressure_pa: npt.ArrayLike) -> Array:
    """Return the equivalent airspeed, Vt*sqrt(rho/rho0), from Mach number and pressure.

    Args:
        mach: Mach number.
        pressure_pa (array_like, broadcastable): Static pressure, Pa.

    Returns:
        Broadcast shape: Equivalent airspeed, m/s.
    """
    pressure = np.asarray(pressure_pa, dtype=np.float64)
    return (
        np.asarray(mach, dtype=np.float64)
        * SEA_LEVEL_SOUND_SPEED_MPS
        * np.sqrt(pressure / SEA_LEVEL_PRESSURE_PA)
    )


def calibrated_from_true(
    true_airspeed_mps: npt.ArrayLike, pressure_pa: npt.ArrayLike, temperature_k: npt.ArrayLike
) -> Array:
    """Return the calibrated airspeed at a true airspeed, pressure and temperature.

    Args:
        true_airspeed_mps, pressure_pa, temperature_k (array_like, broadcastable): True airspeed in
            m/s, static pressure in Pa, ambient temperature in K.

    Returns:
        Broadcast shape: Calibrated airspeed, m/s.

    Raises:
        OutOfRangeError: If the Mach number exceeds 0.9 or the temperature is out of range.
    """
    mach = np.asarray(true_airspeed_mps, dtype=np.float64) / speed_of_sound(temperature_k)
    impact = np.asarray(pressure_pa, dtype=np.float64) * pressure_ratio_from_mach(mach)
    return airspeed_from_impact_pressure(impact)
