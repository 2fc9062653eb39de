"""The temperature of the air over pressure altitude, and how high up a pressure altitude is."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from seed_demo import air as atmosphere
from seed_demo.air import GAS_CONSTANT, Array

GRID_M = np.arange(-600.0, 4000.1, 10.0)
LAYER_M = 250.0


def _none() -> Array:
    return np.array(0.0)


@dataclass(frozen=True, kw_only=True)
class Column:
    """What the air over the country is like; numbers, or shape (flights, 1).

    Attributes:
        warmer_k: Than standard, at sea level.
        slope_k_per_m: How much less than the standard the temperature falls with altitude.
        layer_k, layer_m: A warm lid: within some `LAYER_M` about this pressure altitude
            the air above becomes warmer than the air below, by twice the first figure.
    """

    warmer_k: Array
    slope_k_per_m: Array = field(default_factory=_none)
    layer_k: Array = field(default_factory=_none)
    layer_m: Array = field(default_factory=_none)

    def temperature_at(self, altitude_m: Array) -> Array:
        """Return the ambient temperature (K) at a pressure altitude (m)."""
        lid = self.layer_k * np.tanh((altitude_m - self.layer_m) / LAYER_M)
        other = self.warmer_k + self.slope_k_per_m * altitude_m + lid
        return atmosphere.standard_temperature(altitude_m) + other

    def density_at(self, altitude_m: Array) -> Array:
        """Return the density (kg/m3) at a pressure altitude (m), dry air."""
        static = atmosphere.standard_pressure(altitude_m)
        return static / (GAS_CONSTANT * self.temperature_at(altitude_m))


#: That of the flights of legs and circles.
USUAL = Column(warmer_k=np.array(4.0))


def height_over(column: Column, humidity: float, altitude_m: Array) -> Array:
    """Return how high (m) a pressure altitude (m) is over that of zero, in moist air.

    Of the hydrostatic equation: a layer of air with the virtual temperature Tv is thicker than
    that of the standard by Tv over the standard temperature (ISO 2533:1975 defines the pressure
    altitude by the same equation). Gravity is taken as constant.

    Args:
        column: Of one flight.
        humidity: Relative, up to 1.
    """
    moist = np.full_like(GRID_M, humidity)
    static = atmosphere.standard_pressure(GRID_M)
    virtual = atmosphere.as_light_as(column.temperature_at(GRID_M), static, moist)
    thicker = virtual / atmosphere.standard_temperature(GRID_M)
    steps = 0.5 * (thicker[1:] + thicker[:-1]) * np.diff(GRID_M)
    height = np.concatenate([[0.0], np.cumsum(steps)])
    height -= np.interp(0.0, GRID_M, height)
    return np.asarray(np.interp(altitude_m, GRID_M, height))
