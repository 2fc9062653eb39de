"""A performance sortie: where the power is set, the balance of energy decides the climb.

What thrust leaves over drag goes into height and into speed over the ground: a
wind that grows with height, a gust and a hand that lets the airspeed wander all
take their part. Elsewhere the pilot holds the intended altitude as in any sortie.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from seed_demo import air
from seed_demo.air import FT, KT, Array
from seed_demo.card import IDLE_POWER, NO_POWER, Card, Profile, draw_profile, smoothed
from seed_demo.flight import (
    Flight,
    Held,
    Loading,
    motion_of,
    recorded,
)
from seed_demo.gusts import GUST_MEMORY_S, carried_along, remembering
from seed_demo.hand import Hand, hand_errors
from seed_demo.instruments import STEP_S, Instruments
from seed_demo.performance_truth import IDLE, Plant, sine_of_path
from seed_demo.truth import ErrorCurve
from seed_demo.weather import Weather, temperature_over, wind_over

ROUNDS: Final = 4
BACK_ON_ALTITUDE_S: Final = 14.0


@dataclass(frozen=True)
class _Sky:
    """The day, with the seeds that make its wind and temperature the same at every look."""

    weather: Weather
    vertical: Array
    wind_seed: int
    temperature_seed: int

    def temperature(self, altitude_m: Array) -> Array:
        """Return the ambient temperature (K, (n,)) at a pressure altitude (m)."""
        rng = np.random.default_rng(self.temperature_seed)
        return temperature_over(self.weather, altitude_m, rng)

    def followed_wind(self, altitude_m: Array) -> tuple[Array, Array]:
        """Return what the aircraft has taken up of the wind, east and north (m/s, (n,))."""
        rng = np.random.default_rng(self.wind_seed)
        east, north = wind_over(self.weather, altitude_m - altitude_m[0], rng)
        return carried_along(east, STEP_S), carried_along(north, STEP_S)


def fly_performance(
    card: Card,
    plant: Plant,
    curve: ErrorCurve,
    weather: Weather,
    loading: Loading,
    hand: Hand,
    instruments: Instruments,
    vertical_gust_mps: float,
    rng: np.random.Generator,
) -> Flight:
    """Fly a card with teeth; its climbs and glides follow from power, drag and the air.

    Args:
        plant: True power and drag of this aircraft.
        curve: True error of its static source.
        instruments: Those of the airframe.
        vertical_gust_mps: Standard deviation of rising and sinking air.
        rng: Numpy Generator.
    """
    profile = draw_profile(card)
    count = profile.ias_kt.size
    weight = loading.start_kg - loading.burn_kg_per_s * np.arange(count, dtype=np.float64)
    error = hand_errors(hand, count, rng)
    seeds = [int(seed) for seed in rng.integers(0, 2**32, 2)]
    gust = remembering(rng, (count,), vertical_gust_mps, GUST_MEMORY_S, STEP_S)
    sky = _Sky(weather, gust, seeds[0], seeds[1])
    dial = np.maximum(profile.ias_kt + profile.airborne * error.airspeed_kt, 0.0) * KT
    meant = (profile.altitude_ft + profile.airborne * error.altitude_ft) * FT
    heading = np.radians(profile.heading_deg + error.heading_deg)
    altitude = meant
    for _ in range(ROUNDS):
        held = _held(altitude, dial, heading, curve=curve, weight=weight, sky=sky)
        rate = _rate(held, plant, profile, weight, sky)
        altitude = _followed(meant, profile.power, rate)
    held = _held(altitude, dial, heading, curve=curve, weight=weight, sky=sky)
    level = np.where(profile.power == NO_POWER, sky.vertical, 0.0)
    motion = motion_of(held, profile, weather, level, np.random.default_rng(sky.wind_seed))
    return recorded(
        profile,
        held,
        motion,
        curve=curve,
        weight=weight,
        hand=hand,
        instruments=instruments,
        rng=rng,
    )


def _held(
    altitude: Array, dial: Array, heading: Array, curve: ErrorCurve, weight: Array, sky: _Sky
) -> Held:
    static = air.standard_pressure(altitude)
    temperature = sky.temperature(altitude)
    felt = air.dial_impact_pressure(dial)
    impact = felt * (1.0 + curve.kappa_at(dial, weight))
    light = air.as_light_as(temperature, static, np.full_like(static, sky.weather.humidity))
    return Held(
        static=static,
        temperature=temperature,
        light=light,
        humidity=sky.weather.humidity,
        airspeed=air.mach_number(impact, static) * air.speed_of_sound(light),
        climb=np.gradient(altitude),
        heading=heading,
    )


def _rate(held: Held, plant: Plant, profile: Profile, weight: Array, sky: _Sky) -> Array:
    """Return the rate of pressure altitude (m/s, (n,)) where a power is set; 0 elsewhere."""
    altitude = air.pressure_altitude(held.static)
    east, north = sky.followed_wind(altitude)
    along_path = np.sin(held.heading) * np.gradient(east) + np.cos(held.heading) * np.gradient(
        north
    )
    acceleration = np.gradient(held.airspeed) + along_path
    rate = np.zeros_like(altitude)
    for number in sorted({float(p) for p in profile.power} - {NO_POWER}):
        at = profile.power == number
        tag = IDLE if number == IDLE_POWER else plant.states[int(number)].tag
        sine = sine_of_path(
            plant,
            tag,
            held.airspeed[at],
            weight_kg=weight[at],
            static_pa=held.static[at],
            temperature_k=held.light[at],
        )
        rising = held.airspeed[at] * (sine - acceleration[at] / air.GRAVITY) + sky.vertical[at]
        rate[at] = rising * air.standard_temperature(altitude[at]) / held.light[at]
    return rate


def _followed(meant: Array, power: Array, rate: Array) -> Array:
    """Return the altitude (m, (n,)): by the rate where power is set, else back to what is meant."""
    altitude = meant.copy()
    set_power = power != NO_POWER
    edges = np.flatnonzero(np.diff(set_power.astype(int), prepend=0, append=0))
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        altitude[start:stop] = altitude[start - 1] + np.cumsum(rate[start:stop])
        off = altitude[stop - 1] - meant[stop - 1]
        back = min(stop + int(BACK_ON_ALTITUDE_S), meant.size)
        share = 1.0 - np.arange(1, back - stop + 1) / BACK_ON_ALTITUDE_S
        altitude[stop:back] += off * share
    return smoothed(altitude)
