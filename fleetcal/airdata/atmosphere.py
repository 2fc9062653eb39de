"""The International Standard Atmosphere from below sea level to 20 km.

Heights are geopotential, which is what a pressure altimeter shows: pressure
altitude is the geopotential height at which the standard atmosphere has the
pressure. Source of every relation and constant in this module: ICAO Doc 7488,
Manual of the ICAO Standard Atmosphere (equal to the U.S. Standard Atmosphere,
1976, over this range).
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.errors import OutOfRangeError

Array = npt.NDArray[np.float64]

SEA_LEVEL_PRESSURE_PA: Final = 101325.0
SEA_LEVEL_TEMPERATURE_K: Final = 288.15
SEA_LEVEL_DENSITY_KGM3: Final = 1.225
LAPSE_RATE_KPM: Final = 0.0065
GRAVITY_MPS2: Final = 9.80665
GAS_CONSTANT_JPKGK: Final = 287.05287
HEAT_CAPACITY_RATIO: Final = 1.4
SEA_LEVEL_SOUND_SPEED_MPS: Final = float(
    np.sqrt(HEAT_CAPACITY_RATIO * GAS_CONSTANT_JPKGK * SEA_LEVEL_TEMPERATURE_K)
)

TROPOPAUSE_M: Final = 11000.0
HIGHEST_M: Final = 20000.0
LOWEST_M: Final = -2000.0

_EXPONENT: Final = GRAVITY_MPS2 / (GAS_CONSTANT_JPKGK * LAPSE_RATE_KPM)
_TROPOPAUSE_TEMPERATURE_K: Final = SEA_LEVEL_TEMPERATURE_K - LAPSE_RATE_KPM * TROPOPAUSE_M
_TROPOPAUSE_PRESSURE_PA: Final = float(
    SEA_LEVEL_PRESSURE_PA * (_TROPOPAUSE_TEMPERATURE_K / SEA_LEVEL_TEMPERATURE_K) ** _EXPONENT
)
_SCALE_HEIGHT_M: Final = GAS_CONSTANT_JPKGK * _TROPOPAUSE_TEMPERATURE_K / GRAVITY_MPS2


def require_between(
    values: npt.ArrayLike, lowest: float, highest: float, what: str, unit: str
) -> Array:
    """Return `values` as a float array if all lie in a closed range.

    Args:
        values (array_like, any shape): NaN stands for a missing value and passes.
        lowest, highest: The range, in `unit`.
        what, unit: For the message.

    Returns:
        Same shape.

    Raises:
        OutOfRangeError: If a value lies outside; the message names the first one.
    """
    array = np.asarray(values, dtype=np.float64)
    if array.ndim == 0 and lowest <= float(array) <= highest:  # arrays of one value are slow
        return array
    outside = (array < lowest) | (array > highest)
    if outside.any():
        first = float(array[outside].flat[0])
        behind = f" {unit}" if unit else ""
        raise OutOfRangeError(
            f"{what} {first:.6g}{behind} lies outside {lowest:.6g} to {highest:.6g}{behind}",
            "check the unit of the value; the relation holds only in this range",
        )
    return array


def standard_temperature(altitude_m: npt.ArrayLike) -> Array:
    """Return the standard temperature.

    Args:
        altitude_m (array_like, any shape): Geopotential height, -2,000 to 20,000 m.

    Returns:
        Same shape: Temperature, K.

    Raises:
        OutOfRangeError: If a height lies outside the range.
    """
    altitude = require_between(altitude_m, LOWEST_M, HIGHEST_M, "altitude", "m")
    return SEA_LEVEL_TEMPERATURE_K - LAPSE_RATE_KPM * np.minimum(altitude, TROPOPAUSE_M)


def pressure_from_altitude(altitude_m: npt.ArrayLike) -> Array:
    """Return the standard pressure, the exact inverse of `altitude_from_pressure`.

    Args:
        altitude_m (array_like, any shape): Geopotential height, -2,000 to 20,000 m.

    Returns:
        Same shape: Pressure, Pa.

    Raises:
        OutOfRangeError: If a height lies outside the range.
    """
    altitude = require_between(altitude_m, LOWEST_M, HIGHEST_M, "altitude", "m")
    below = np.minimum(altitude, TROPOPAUSE_M)
    troposphere = SEA_LEVEL_PRESSURE_PA * np.exp(
        _EXPONENT * np.log1p(-LAPSE_RATE_KPM * below / SEA_LEVEL_TEMPERATURE_K)
    )
    above = np.maximum(altitude - TROPOPAUSE_M, 0.0)
    return np.asarray(troposphere * np.exp(-above / _SCALE_HEIGHT_M))


_HIGHEST_PRESSURE_PA: Final = float(pressure_from_altitude(LOWEST_M))
_LOWEST_PRESSURE_PA: Final = float(pressure_from_altitude(HIGHEST_M))


def altitude_from_pressure(pressure_pa: npt.ArrayLike) -> Array:
    """Return the pressure altitude, the exact inverse of `pressure_from_altitude`.

    Args:
        pressure_pa (array_like, any shape): Static pressure between its values at 20,000 and -2,000
            m, Pa.

    Returns:
        Same shape: Pressure altitude, m.

    Raises:
        OutOfRangeError: If a pressure lies outside the range.
    """
    slack = 1e-9
    pressure = require_between(
        pressure_pa,
        _LOWEST_PRESSURE_PA * (1 - slack),
        _HIGHEST_PRESSURE_PA * (1 + slack),
        "static pressure",
        "Pa",
    )
    log_ratio = np.log(pressure / SEA_LEVEL_PRESSURE_PA)
    troposphere = -SEA_LEVEL_TEMPERATURE_K / LAPSE_RATE_KPM * np.expm1(log_ratio / _EXPONENT)
    stratosphere = TROPOPAUSE_M - _SCALE_HEIGHT_M * np.log(pressure / _TROPOPAUSE_PRESSURE_PA)
    return np.where(pressure >= _TROPOPAUSE_PRESSURE_PA, troposphere, stratosphere)


def density(pressure_pa: npt.ArrayLike, temperature_k: npt.ArrayLike) -> Array:
    """Return the density of dry air by the ideal-gas law.

    Args:
        pressure_pa, temperature_k (array_like, broadcastable): Pressure in Pa and temperature in K.

    Returns:
        Broadcast shape: Density, kg/m3.
    """
    pressure = np.asarray(pressure_pa, dtype=np.float64)
    return np.asarray(pressure / (GAS_CONSTANT_JPKGK * np.asarray(temperature_k)))


def speed_of_sound(temperature_k: npt.ArrayLike) -> Array:
    """Return the speed of sound in dry air.

    Args:
        temperature_k (array_like, any shape): Ambient temperature, 100 to 400 K.

    Returns:
        Same shape: Speed of sound, m/s.

    Raises:
        OutOfRangeError: If a temperature lies outside the range.
    """
    temperature = require_between(temperature_k, 100.0, 400.0, "temperature", "K")
    return np.sqrt(HEAT_CAPACITY_RATIO * GAS_CONSTANT_JPKGK * temperature)
