"""Water vapour in the air: how much lighter it makes it.

Moist air of temperature T has the density of dry air of the virtual temperature
Tv = T / (1 - 0.378 e/p), with the vapour pressure e; 0.378 is one less the ratio of the
molar masses of water and dry air (World Meteorological Organization, Guide to Instruments
and Methods of Observation, WMO-No. 8, volume I, annex 4.A). The vapour pressure of
saturation over water is the Magnus formula of the same guide, annex 4.B, which holds from
-45 to 60 degrees Celsius. Relative humidity is over water at all temperatures, as the
guide and aviation have it.

Mach number and true airspeed keep 1.4 as ratio of heat capacities. It enters both, and
what moist air would change in them cancels but for a share of M^2 that no reading shows.

A tower fly-by (0.1 m in 15 m of height) and a trailing source hardly feel it, and a pace
aircraft gives calibrated airspeed whatever the air. The temperature that Mach number and
true airspeed ask for is the virtual one already.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array

LIGHTER: Final = 0.378
_ZERO_K: Final = 273.15
_SCALE_PA, _SLOPE, _OFFSET_K = 611.2, 17.62, 243.12


def saturation_pressure(temperature_k: npt.ArrayLike) -> Array:
    """Return the pressure of water vapour at saturation over water.

    Args:
        temperature_k (array_like, any shape): K; the formula was made for 228 to 333 K.

    Returns:
        Same shape: Pa.
    """
    celsius = np.asarray(temperature_k, dtype=np.float64) - _ZERO_K
    return np.asarray(_SCALE_PA * np.exp(_SLOPE * celsius / (_OFFSET_K + celsius)))


def saturation_growth(temperature_k: npt.ArrayLike) -> Array:
    """Return how fast saturation grows with temperature, (1/e) de/dT.

    Args:
        temperature_k (array_like, any shape): K.

    Returns:
        Same shape: Share per kelvin.
    """
    celsius = np.asarray(temperature_k, dtype=np.float64) - _ZERO_K
    return np.asarray(_SLOPE * _OFFSET_K / (_OFFSET_K + celsius) ** 2)


def vapour_share(
    temperature_k: npt.ArrayLike, pressure_pa: npt.ArrayLike, relative_humidity: npt.ArrayLike
) -> Array:
    """Return by what share the vapour makes the air lighter, 0.378 e/p.

    Args:
        temperature_k, pressure_pa (array_like, broadcastable): Ambient temperature in K and static
            pressure in Pa.
        relative_humidity (array_like, broadcastable): Over water, 0 for dry air, 1 for saturation.

    Returns:
        Broadcast shape: Without unit, 0 in dry air.
    """
    vapour = np.asarray(relative_humidity, dtype=np.float64) * saturation_pressure(temperature_k)
    return np.asarray(LIGHTER * vapour / np.asarray(pressure_pa, dtype=np.float64))


def virtual_temperature(
    temperature_k: npt.ArrayLike, pressure_pa: npt.ArrayLike, relative_humidity: npt.ArrayLike
) -> Array:
    """Return the temperature at which dry air has the density of this moist air.

    Args:
        temperature_k, pressure_pa (array_like, broadcastable): Ambient temperature in K and static
            pressure in Pa.
        relative_humidity (array_like, broadcastable): Over water, 0 for dry air, 1 for saturation.

    Returns:
        Broadcast shape: K.
    """
    share = vapour_share(temperature_k, pressure_pa, relative_humidity)
    return np.asarray(temperature_k, dtype=np.float64) / (1.0 - share)


def humidity_from_dew_point(temperature_k: npt.ArrayLike, dew_point_k: npt.ArrayLike) -> Array:
    """Return the relative humidity of air with a dew point.

    Args:
        temperature_k, dew_point_k (array_like, broadcastable): K.

    Returns:
        Broadcast shape: Over water; above 1 where the dew point is above the temperature.
    """
    return saturation_pressure(dew_point_k) / saturation_pressure(temperature_k)
