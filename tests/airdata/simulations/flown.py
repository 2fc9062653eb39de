"""Flights with known wind and kappa: turbulence with memory, imperfect hold, rounding."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.budget import Assumptions
from fleetcal.airdata.reading import Readings, true_airspeed_for
from fleetcal.units import MPS_PER_KT as KT

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


@dataclass(frozen=True)
class Flown:
    """Samples of many flights, each shape (flights, samples), SI."""

    time_s: Array
    heading_rad: Array
    indicated_mps: Array
    true_mps: Array
    east_mps: Array
    north_mps: Array


def remembering(
    rng: np.random.Generator, shape: tuple[int, ...], sd: float, memory_s: float
) -> Array:
    """First-order autoregressive noise at 1 Hz along the last axis."""
    rho = np.exp(-1.0 / memory_s)
    noise = np.empty(shape)
    noise[..., 0] = rng.normal(0.0, sd, shape[:-1])
    fresh = rng.normal(0.0, sd * np.sqrt(1.0 - rho * rho), shape)
    for i in range(1, shape[-1]):
        noise[..., i] = rho * noise[..., i - 1] + fresh[..., i]
    return noise


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
    gust = remembering(rng, (flights, 2, span), air.gust_kt * KT, air.memory_s)[:, :, seconds]
    hold = remembering(rng, (flights, span), HOLD_KT, HOLD_MEMORY_S)[:, seconds]
    indicated = (INDICATED_KT + hold) * KT
    heading = heading_rad[None] + rng.uniform(0.0, 2.0 * np.pi, (flights, 1))
    speed = rng.uniform(5.0, 20.0, (flights, 1)) * KT
    veer = np.radians(air.veer_deg_in_ten_minutes) * (time_s - span / 2.0) / 600.0
    toward = rng.uniform(0.0, 2.0 * np.pi, (flights, 1)) + veer[None]
    static, impact = readings(indicated).pressures()
    true, _ = true_airspeed_for(
        static, impact, np.array(TEMPERATURE_K), np.array(RECOVERY), np.array(KAPPA)
    )
    return Flown(
        time_s,
        heading,
        indicated,
        true,
        true * np.sin(heading) + speed * np.sin(toward) + gust[:, 0],
        true * np.cos(heading) + speed * np.cos(toward) + gust[:, 1],
    )


def readings(indicated_mps: Array) -> Readings:
    """The readings of error-free instruments at the simulated height and temperature."""
    return Readings(
        indicated_mps,
        np.full_like(indicated_mps, ALTITUDE_M),
        np.full_like(indicated_mps, TEMPERATURE_K),
        np.full_like(indicated_mps, RECOVERY),
    )


def recorded(east_mps: Array, north_mps: Array) -> tuple[Array, Array]:
    """Ground vectors as a recorder keeps them: tenths of a knot, whole degrees."""
    speed = np.round(np.hypot(east_mps, north_mps) / KT, 1) * KT
    track = np.radians(np.round(np.degrees(np.arctan2(east_mps, north_mps))))
    return speed * np.sin(track), speed * np.cos(track)


@dataclass(frozen=True)
class Faults:
    """Errors of the instruments of one flight, drawn from what a budget supposes."""

    temperature_k: float
    recovery: float
    airspeed_mps: float
    altitude_m: float
    drift_mps2: Array

    @classmethod
    def draw(cls, rng: np.random.Generator, supposed: Assumptions) -> Faults:
        """Draw every shared error once."""
        return cls(
            rng.normal(0.0, supposed.u_temperature_k),
            rng.normal(0.0, supposed.u_recovery_factor),
            rng.normal(0.0, supposed.u_airspeed_mps),
            rng.normal(0.0, supposed.u_altitude_m),
            rng.normal(0.0, supposed.u_wind_drift_mps2, 2),
        )
