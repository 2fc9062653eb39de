"""The simulator's own air: standard atmosphere and pitot-static relations.

Written independently of the program under demonstration. Troposphere only.
Source of the constants: ISO 2533:1975, standard atmosphere.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

KT: Final = 1852.0 / 3600.0  # m/s in a knot
FT: Final = 0.3048  # m in a foot
ICE_POINT_K: Final = 273.15

SEA_LEVEL_PA: Final = 101325.0
SEA_LEVEL_K: Final = 288.15
LAPSE_K_PER_M: Final = 0.0065
GRAVITY: Final = 9.80665
GAS_CONSTANT: Final = 287.05287
GAMMA: Final = 1.4
#: Molar mass of water over that of dry air, and molar heat capacities at constant pressure in
#: units of the gas constant (water vapour near 300 K: 33.6 J/(mol K), from memory).
WATER_TO_AIR: Final = 18.015 / 28.965
DRY_HEAT, VAPOUR_HEAT = 3.5, 4.04
SEA_LEVEL_SOUND_MPS: Final = (GAMMA * GAS_CONSTANT * SEA_LEVEL_K) ** 0.5

_HYDROSTATIC: Final = GRAVITY / (GAS_CONSTANT * LAPSE_K_PER_M)
_ISENTROPIC: Final = GAMMA / (GAMMA - 1.0)


def standard_temperature(altitude_m: Array) -> Array:
    """Return the standard temperature (K) at a pressure altitude (m), any shape."""
    return SEA_LEVEL_K - LAPSE_K_PER_M * altitude_m


def standard_pressure(altitude_m: Array) -> Array:
    """Return the standard pressure (Pa) at a pressure altitude (m), any shape."""
    return SEA_LEVEL_PA * (standard_temperature(altitude_m) / SEA_LEVEL_K) ** _HYDROSTATIC


def pressure_altitude(pressure_pa: Array) -> Array:
    """Return the pressure altitude (m) of a pressure (Pa), any shape."""
    ratio = (pressure_pa / SEA_LEVEL_PA) ** (1.0 / _HYDROSTATIC)
    return SEA_LEVEL_K * (1.0 - ratio) / LAPSE_K_PER_M


def impact_pressure(mach: Array, static_pa: Array) -> Array:
    """Return total minus static pressure (Pa) at a subsonic Mach number."""
    return static_pa * ((1.0 + (GAMMA - 1.0) / 2.0 * mach**2) ** _ISENTROPIC - 1.0)


def mach_number(impact_pa: Array, static_pa: Array) -> Array:
    """Return the subsonic Mach number, the inverse of `impact_pressure`."""
    rise = (1.0 + impact_pa / static_pa) ** (1.0 / _ISENTROPIC) - 1.0
    return np.sqrt(2.0 / (GAMMA - 1.0) * np.maximum(rise, 0.0))


def dial_speed(impact_pa: Array) -> Array:
    """Return the airspeed (m/s) that a perfect indicator shows for an impact pressure (Pa)."""
    return SEA_LEVEL_SOUND_MPS * mach_number(impact_pa, np.full_like(impact_pa, SEA_LEVEL_PA))


def dial_impact_pressure(airspeed_mps: Array) -> Array:
    """Return the impact pressure (Pa) at which a perfect indicator shows an airspeed (m/s)."""
    at_sea_level = np.full_like(airspeed_mps, SEA_LEVEL_PA)
    return impact_pressure(airspeed_mps / SEA_LEVEL_SOUND_MPS, at_sea_level)


def speed_of_sound(temperature_k: Array) -> Array:
    """Return the speed of sound (m/s) at an ambient temperature (K)."""
    return np.sqrt(GAMMA * GAS_CONSTANT * temperature_k)


def vapour_pressure(temperature_k: Array, humidity: Array) -> Array:
    """Return the pressure of water vapour (Pa) at a relative humidity, 1 at saturation.

    A. L. Buck, Journal of Applied Meteorology 20 (1981), equation ew1.
    """
    celsius = temperature_k - ICE_POINT_K
    return humidity * 611.21 * np.exp(17.502 * celsius / (240.97 + celsius))


def as_light_as(temperature_k: Array, static_pa: Array, humidity: Array) -> Array:
    """Return the temperature (K) at which dry air has the density of this moist air."""
    share = vapour_pressure(temperature_k, humidity) / static_pa
    return temperature_k / (1.0 - share + share * WATER_TO_AIR)


def moist_impact_pressure(
    airspeed_mps: Array, temperature_k: Array, static_pa: Array, humidity: Array
) -> Array:
    """Return total minus static pressure (Pa) at a true airspeed in a mixture of air and vapour."""
    share = vapour_pressure(temperature_k, humidity) / static_pa
    light = as_light_as(temperature_k, static_pa, humidity)
    heat = (1.0 - share) * DRY_HEAT + share * VAPOUR_HEAT
    gamma = heat / (heat - 1.0)
    mach_squared = airspeed_mps**2 / (gamma * GAS_CONSTANT * light)
    rise = 1.0 + (gamma - 1.0) / 2.0 * mach_squared
    return static_pa * (rise ** (gamma / (gamma - 1.0)) - 1.0)


def probe_temperature(temperature_k: Array, mach: Array, recovery: float) -> Array:
    """Return what a probe of a recovery factor feels (K) in air of an ambient temperature (K)."""
    return temperature_k * (1.0 + recovery * (GAMMA - 1.0) / 2.0 * mach**2)
