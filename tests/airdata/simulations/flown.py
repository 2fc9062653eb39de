"""Single runs by the thousand whose gusts have an exactly known covariance, for a bound.

Gusts of one memory in two components meet the pitot at once; the aircraft takes them up
with a first-order lag. Whole flights of a point mass are flown in `flights`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.reading import Readings, true_airspeed_for
from fleetcal.units import MPS_PER_KT as KT
from seed_demo import air as atmosphere
from seed_demo.gusts import carried_along, remembering

KAPPA = 0.03
GUST_MEMORY_S = 10.0
HOLD_KT, HOLD_MEMORY_S = 0.8, 20.0
ALTITUDE_M, TEMPERATURE_K, RECOVERY = 900.0, 282.0, 0.8
INDICATED_KT = 95.0
STEPS = {
    "airspeed": 0.1 * KT,
    "altitude": 0.0,
    "temperature": 0.0,
    "ground_speed": 0.1 * KT,
    "track": np.radians(1.0),
}


@dataclass(frozen=True)
class Air:
    """Gusts of one standard deviation, and a wind that may veer steadily."""

    gust_kt: float = 0.6
    veer_deg_in_ten_minutes: float = 0.0
    memory_s: float = GUST_MEMORY_S


@dataclass(frozen=True, kw_only=True)
class Flown:
    """Samples of many flights, each shape (flights, samples), SI."""

    time_s: Array
    heading_rad: Array
    indicated_mps: Array
    true_mps: Array
    east_mps: Array
    north_mps: Array


def leg_times(legs: int, leg_s: int, turn_s: int) -> Array:
    """Times of the samples inside the legs, the turns left out."""
    return np.concatenate([i * (leg_s + turn_s) + np.arange(leg_s) for i in range(legs)]).astype(
        float
    )


def fly(
    rng: np.random.Generator, flights: int, time_s: Array, heading_rad: Array, air: Air
) -> Flown:
    """Fly headings (from a random one on) at one power setting and record ground vectors."""
    span = int(time_s[-1]) + 1
    seconds = time_s.astype(int)
    gust = remembering(rng, (2, flights, span), air.gust_kt * KT, air.memory_s, 1.0)
    carried = carried_along(gust, 1.0)[:, :, seconds]
    gust = gust[:, :, seconds]
    hold = remembering(rng, (flights, span), HOLD_KT, HOLD_MEMORY_S, 1.0)[:, seconds]
    heading = heading_rad[None] + rng.uniform(0.0, 2.0 * np.pi, (flights, 1))
    speed = rng.uniform(5.0, 20.0, (flights, 1)) * KT
    veer = np.radians(air.veer_deg_in_ten_minutes) * (time_s - span / 2.0) / 600.0
    toward = rng.uniform(0.0, 2.0 * np.pi, (flights, 1)) + veer[None]
    static, impact = readings((INDICATED_KT + hold) * KT).pressures()
    held, _ = true_airspeed_for(
        static, impact, np.array(TEMPERATURE_K), np.array(RECOVERY), np.array(KAPPA)
    )
    through = held * np.stack([np.sin(heading), np.cos(heading)]) + carried - gust
    true = np.hypot(*through)
    east, north = through + gust + speed * np.stack([np.sin(toward), np.cos(toward)])
    return Flown(
        time_s=time_s,
        heading_rad=heading,
        indicated_mps=indicated_of(true),
        true_mps=true,
        east_mps=east,
        north_mps=north,
    )


def indicated_of(true_mps: Array) -> Array:
    """Return what is indicated of a true airspeed, worked out from the defining relations."""
    port = atmosphere.standard_pressure(np.array(ALTITUDE_M))
    warming = 0.2 * RECOVERY * true_mps**2 / (atmosphere.GAMMA * atmosphere.GAS_CONSTANT)
    mach = true_mps / atmosphere.speed_of_sound(TEMPERATURE_K - warming)
    rise = atmosphere.impact_pressure(mach, np.array(1.0))
    return atmosphere.dial_speed(port * rise / (1.0 + KAPPA * (1.0 + rise)))


def readings(indicated_mps: Array) -> Readings:
    """The readings of error-free instruments at the simulated height and temperature."""
    return Readings(
        airspeed_mps=indicated_mps,
        altitude_m=np.full_like(indicated_mps, ALTITUDE_M),
        temperature_k=np.full_like(indicated_mps, TEMPERATURE_K),
        recovery_factor=np.full_like(indicated_mps, RECOVERY),
    )


def recorded(east_mps: Array, north_mps: Array) -> tuple[Array, Array]:
    """Ground vectors as a recorder keeps them: tenths of a knot, whole degrees."""
    speed = np.round(np.hypot(east_mps, north_mps) / KT, 1) * KT
    track = np.radians(np.round(np.degrees(np.arctan2(east_mps, north_mps))))
    return speed * np.sin(track), speed * np.cos(track)
