"""The day's air: wind that wanders, turbulence with a memory, and a temperature off standard."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Final

import numpy as np

from seed_demo.air import KT, Array, standard_temperature
from seed_demo.gusts import GUST_MEMORY_S, remembering

STEP_S: Final = 1.0
# Slow wind: swells of some minutes, and the drift of half an hour.
SWELL_MEMORY_S: Final = 300.0
WANDER_MEMORY_S: Final = 1500.0
SURFACE_WIND_SHARE: Final = 0.6
FULL_WIND_HEIGHT_M: Final = 900.0


@dataclass(frozen=True, kw_only=True)
class Weather:
    """One day's air, as drawn for one sortie.

    Speeds in m/s, angles in rad, temperatures in K; the wind blows from
    `wind_from_rad` (true) at the middle of the sortie, at the top of the surface
    layer. `wander_mps`, `swell_mps` and `gust_mps` are standard deviations of each
    component of the wind, `rising_mps` that of rising and sinking air. Above the
    surface layer the wind grows by its share `shear_per_m` a metre.
    `humidity` is relative, 1 at saturation, and the same at all heights.
    """

    wind_speed_mps: float
    wind_from_rad: float
    veer_rad_per_s: float
    wander_mps: float
    gust_mps: float
    swell_mps: float
    rising_mps: float
    shear_per_m: float
    warmer_than_standard_k: float
    temperature_wander_k: float
    humidity: float = 0.0


def drawn_humidity(rng: np.random.Generator) -> float:
    """Draw the relative humidity of a day, 1 at saturation: mostly moist, rarely dry or in haze."""
    return 0.2 + 0.75 * float(rng.beta(3.0, 2.2))


def calm_weather(wind_speed_mps: float, wind_from_rad: float) -> Weather:
    """Return a day of perfectly steady wind, standard temperature and dry air."""
    still = dict.fromkeys((field.name for field in fields(Weather)), 0.0)
    return Weather(**still | {"wind_speed_mps": wind_speed_mps, "wind_from_rad": wind_from_rad})


def drawn_weather(rng: np.random.Generator) -> Weather:
    """Draw a day: 8-25 kt of wind, about a degree of veer in ten minutes, not standard."""
    return Weather(
        wind_speed_mps=float(rng.uniform(8.0, 25.0)) * KT,
        wind_from_rad=float(rng.uniform(0.0, 2.0 * np.pi)),
        veer_rad_per_s=float(np.radians(rng.normal(0.0, 1.0) / 600.0)),
        wander_mps=0.5 * KT,
        gust_mps=0.6 * KT,
        swell_mps=0.5 * KT,
        rising_mps=0.3 * KT,
        shear_per_m=0.00015,
        warmer_than_standard_k=float(rng.uniform(-12.0, 15.0)),
        temperature_wander_k=0.15,
    )


def _remembering(rng: np.random.Generator, count: int, sd: float, memory_s: float) -> Array:
    return remembering(rng, (count,), sd, memory_s, STEP_S)


def rising_air(weather: Weather, count: int, rng: np.random.Generator) -> Array:
    """Return the speed (m/s, (count,)) of the rising air that is met, second by second."""
    return _remembering(rng, count, weather.rising_mps, GUST_MEMORY_S)


def wind_over(weather: Weather, height_m: Array, rng: np.random.Generator) -> tuple[Array, Array]:
    """Return where the air goes, second by second.

    Args:
        height_m (n,): Above the field.
        rng: Numpy Generator.

    Returns:
        Shape (n,): East and north, m/s.
    """
    count = height_m.size
    seconds = np.arange(count) - count / 2.0
    from_rad = weather.wind_from_rad + weather.veer_rad_per_s * seconds
    share = SURFACE_WIND_SHARE + (1.0 - SURFACE_WIND_SHARE) * np.clip(
        height_m / FULL_WIND_HEIGHT_M, 0.0, 1.0
    )
    share += weather.shear_per_m * np.maximum(height_m - FULL_WIND_HEIGHT_M, 0.0)
    parts: list[Array] = []
    for direction in (np.sin(from_rad), np.cos(from_rad)):
        slow = _remembering(rng, count, weather.wander_mps, WANDER_MEMORY_S)
        slow += _remembering(rng, count, weather.swell_mps, SWELL_MEMORY_S)
        gust = _remembering(rng, count, weather.gust_mps, GUST_MEMORY_S)
        parts.append(share * (-weather.wind_speed_mps * direction + slow) + gust)
    return parts[0], parts[1]


def temperature_over(weather: Weather, altitude_m: Array, rng: np.random.Generator) -> Array:
    """Return the ambient temperature (K, (n,)) along a flight at a pressure altitude (m)."""
    wander = _remembering(rng, altitude_m.size, weather.temperature_wander_k, 300.0)
    return standard_temperature(altitude_m) + weather.warmer_than_standard_k + wander
