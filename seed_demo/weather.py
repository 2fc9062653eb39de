"""The day's air: wind that wanders, turbulence with a memory, and a temperature off standard."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate
from typing import Final

import numpy as np

from seed_demo.air import KT, Array, standard_temperature

GUST_MEMORY_S: Final = 10.0
WANDER_MEMORY_S: Final = 1500.0
SURFACE_WIND_SHARE: Final = 0.6
FULL_WIND_HEIGHT_M: Final = 900.0


@dataclass(frozen=True)
class Weather:
    """One day's air, as drawn for one sortie.

    Speeds in m/s, angles in rad, temperatures in K; the wind blows from
    `wind_from_rad` (true) at the middle of the sortie, above the surface layer.
    """

    wind_speed_mps: float
    wind_from_rad: float
    veer_rad_per_s: float
    wander_mps: float
    gust_mps: float
    warmer_than_standard_k: float
    temperature_wander_k: float


def calm_weather(wind_speed_mps: float, wind_from_rad: float) -> Weather:
    """Return a day of perfectly steady wind and standard temperature."""
    return Weather(wind_speed_mps, wind_from_rad, 0.0, 0.0, 0.0, 0.0, 0.0)


def drawn_weather(rng: np.random.Generator) -> Weather:
    """Draw a day: 8-25 kt of wind, about a degree of veer in ten minutes, not standard."""
    return Weather(
        wind_speed_mps=float(rng.uniform(8.0, 25.0)) * KT,
        wind_from_rad=float(rng.uniform(0.0, 2.0 * np.pi)),
        veer_rad_per_s=float(np.radians(rng.normal(0.0, 1.0) / 600.0)),
        wander_mps=0.5 * KT,
        gust_mps=0.6 * KT,
        warmer_than_standard_k=float(rng.uniform(-12.0, 15.0)),
        temperature_wander_k=0.15,
    )


def remembering_noise(rng: np.random.Generator, count: int, sd: float, memory_s: float) -> Array:
    """Return a first-order random process at 1 Hz.

    Parameters
    ----------
    rng : numpy Generator
    count : int
        Number of samples, one a second.
    sd : float
        Standard deviation at any one time, in the unit of the result.
    memory_s : float
        Time after which the correlation has fallen to 1/e.

    Returns
    -------
    ndarray, shape (count,)
    """
    keep = float(np.exp(-1.0 / memory_s))
    shocks = rng.normal(0.0, sd, count)
    shocks[1:] *= np.sqrt(1.0 - keep**2)
    process = accumulate(shocks.tolist(), lambda value, shock: keep * value + shock)
    return np.fromiter(process, np.float64, count)


def lagged(signal: Array, time_constant_s: float) -> Array:
    """Return what follows a signal (n,) at 1 Hz with a first-order lag, settled at the start."""
    keep = float(np.exp(-1.0 / time_constant_s))
    process = accumulate(signal.tolist(), lambda value, new: keep * value + (1.0 - keep) * new)
    return np.fromiter(process, np.float64, signal.size)


def wind_over(weather: Weather, height_m: Array, rng: np.random.Generator) -> tuple[Array, Array]:
    """Return where the air goes, second by second.

    Parameters
    ----------
    weather : Weather
    height_m : ndarray, shape (n,)
        Above the field.
    rng : numpy Generator

    Returns
    -------
    tuple of ndarray, shape (n,)
        East and north, m/s.
    """
    count = height_m.size
    seconds = np.arange(count) - count / 2.0
    from_rad = weather.wind_from_rad + weather.veer_rad_per_s * seconds
    share = SURFACE_WIND_SHARE + (1.0 - SURFACE_WIND_SHARE) * np.clip(
        height_m / FULL_WIND_HEIGHT_M, 0.0, 1.0
    )
    parts: list[Array] = []
    for direction in (np.sin(from_rad), np.cos(from_rad)):
        slow = remembering_noise(rng, count, weather.wander_mps, WANDER_MEMORY_S)
        gust = remembering_noise(rng, count, weather.gust_mps, GUST_MEMORY_S)
        parts.append(share * (-weather.wind_speed_mps * direction + slow) + gust)
    return parts[0], parts[1]


def temperature_over(weather: Weather, altitude_m: Array, rng: np.random.Generator) -> Array:
    """Return the ambient temperature (K, (n,)) along a flight at a pressure altitude (m)."""
    wander = remembering_noise(rng, altitude_m.size, weather.temperature_wander_k, 300.0)
    return standard_temperature(altitude_m) + weather.warmer_than_standard_k + wander
