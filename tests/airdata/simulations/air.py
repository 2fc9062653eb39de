"""The air that simulated flights are flown in, at a step of a fifth of a second.

Its wind is of no class that a solve supposes: an Ornstein-Uhlenbeck wander, a
direction that turns, a ramp, a profile with height, gusts with memory and
thermals, of which a solve knows a steady drift at most.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seed_demo.air import FT, KT, Array
from seed_demo.gusts import Bubbles, bubble_air, remembering, turbulence

STEP_S = 0.2
ALTITUDE_M = 1000.0
MIDDLE_AIRSPEED_MPS = 50.0


@dataclass(frozen=True, kw_only=True)
class Air:
    """What the air does; zero everywhere is a steady uniform wind.

    Attributes:
        gust_mps: Standard deviation of each of the three components of turbulence.
        wind_kt: Speed in the middle of the flight; drawn from 5 to 20 kt when None.
        veer_deg_in_ten_minutes: Steady turn of the wind, to a side drawn for each flight.
        ramp_kt_in_ten_minutes: Standard deviation of a steady change of each component.
        slow_kt, slow_memory_s: Wandering of each component.
        quick_kt, quick_memory_s: Another wandering, of about a leg's length.
        shear_kt_per_1000ft: Growth of the wind with height, along the wind.
        bubbles: Thermals.
    """

    gust_mps: float = 0.0
    wind_kt: float | None = None
    veer_deg_in_ten_minutes: float = 0.0
    ramp_kt_in_ten_minutes: float = 0.0
    slow_kt: float = 0.0
    slow_memory_s: float = 300.0
    quick_kt: float = 0.0
    quick_memory_s: float = 60.0
    shear_kt_per_1000ft: float = 0.0
    bubbles: Bubbles | None = None


@dataclass(frozen=True)
class DrawnAir:
    """The air of many flights, m/s.

    Attributes:
        wind (2, flights, samples): East and north, at the height meant.
        shear (2, flights) or (2, flights, samples): Change of it by height, per second.
        met (3, flights, samples): Gusts and thermals: along the aircraft's heading, to its right,
            upwards.
    """

    wind: Array
    shear: Array
    met: Array

    def shear_at(self, sample: int) -> Array:
        """Return the change of the wind by height at a sample, shape (2, flights)."""
        return self.shear if self.shear.ndim == 2 else self.shear[:, :, sample]


def draw_air(rng: np.random.Generator, air: Air, flights: int, samples: int) -> DrawnAir:
    """Draw the air of flights.

    Args:
        rng: Numpy Generator.
        flights, samples: Samples are `STEP_S` apart.
    """
    one = (flights, 1)
    middle_s = (np.arange(samples) - samples / 2.0) * STEP_S
    speed = KT * (rng.uniform(5.0, 20.0, one) if air.wind_kt is None else np.full(one, air.wind_kt))
    first = rng.uniform(0.0, 2.0 * np.pi, one)
    side = rng.choice((-1.0, 1.0), one)
    toward = first + side * np.radians(air.veer_deg_in_ten_minutes) * middle_s / 600.0
    wind = speed * np.stack([np.sin(toward), np.cos(toward)])
    ramp = rng.normal(0.0, 1.0, (2, *one)) * air.ramp_kt_in_ten_minutes * KT / 600.0
    wind += ramp * middle_s
    for sd_kt, memory_s in ((air.slow_kt, air.slow_memory_s), (air.quick_kt, air.quick_memory_s)):
        if sd_kt > 0.0:
            wind += remembering(rng, wind.shape, sd_kt * KT, memory_s, STEP_S)
    shear = air.shear_kt_per_1000ft * KT / (1000.0 * FT)
    met = np.zeros((3, flights, samples))
    if air.gust_mps > 0.0:
        met += turbulence(rng, (flights, samples), air.gust_mps, STEP_S)
    if air.bubbles is not None:
        met += bubble_air(rng, (flights, samples), air.bubbles, STEP_S, MIDDLE_AIRSPEED_MPS)
    along_wind = np.stack([np.sin(first[:, 0]), np.cos(first[:, 0])])
    return DrawnAir(wind, shear * along_wind, met)
