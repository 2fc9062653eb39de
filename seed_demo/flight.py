"""The flight itself: the pilot's errors, the aircraft in moving air, the readings.

Two truths hold at every second: air vector plus wind is ground vector, and the
static port passes on the outside pressure plus kappa times the impact pressure
felt. The pitot pressure is taken as free of error; the instruments have errors of
their own airframe, which last.

A gust meets the aircraft as airspeed first, and the path over the ground follows.
Air that rises, in which the pilot holds the altitude, gives airspeed too.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from seed_demo import air
from seed_demo.air import FT, KT, Array
from seed_demo.card import Card, Profile, draw_profile
from seed_demo.gusts import RESPONSE_S, carried_along, following, remembering
from seed_demo.hand import Hand, hand_errors
from seed_demo.instruments import STEP_S, Instruments, delayed, probe_reading, through_line
from seed_demo.truth import ErrorCurve
from seed_demo.weather import Weather, rising_air, temperature_over, wind_over

# How much of rising air the pilot holds the altitude against; the rest is flown out by the
# altitude wandering.
HELD_AGAINST: Final = 0.5
TAXI_KT: Final = 8.0
LEAST_LEVEL_MPS: Final = 10.0


@dataclass(frozen=True)
class Loading:
    """Weight (kg) at the start and fuel burnt (kg/s)."""

    start_kg: float
    burn_kg_per_s: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Flight:
    """Everything about a flight at 1 Hz, arrays (n,), SI units: the truth and the readings.

    `air_east` and so on are true; `indicated_airspeed`, `indicated_altitude`,
    `probe_temperature`, `gps_east` and `gps_north` are what the recorder gets.
    """

    profile: Profile
    weight: Array
    kappa: Array
    true_static: Array
    true_temperature: Array
    true_airspeed: Array
    air_east: Array
    air_north: Array
    wind_east: Array
    wind_north: Array
    ground_east: Array
    ground_north: Array
    indicated_airspeed: Array
    indicated_altitude: Array
    probe_temperature: Array
    humidity_shown: Array
    gps_east: Array
    gps_north: Array
    bank: Array


@dataclass(frozen=True, kw_only=True)
class Held:
    """What the pilot makes of the intention, before gusts.

    `light` is the temperature at which dry air would have the density of the moist air.
    """

    static: Array
    temperature: Array
    light: Array
    humidity: float
    airspeed: Array
    climb: Array
    heading: Array


def _held(
    profile: Profile,
    curve: ErrorCurve,
    weight: Array,
    weather: Weather,
    hand: Hand,
    rng: np.random.Generator,
) -> Held:
    count = profile.ias_kt.size
    error = hand_errors(hand, count, rng)
    dial = np.maximum(profile.ias_kt + profile.airborne * error.airspeed_kt, 0.0) * KT
    altitude = (profile.altitude_ft + profile.airborne * error.altitude_ft) * FT
    at_port = air.standard_pressure(altitude)
    felt = air.dial_impact_pressure(dial)
    static = at_port - curve.kappa_at(dial, weight) * felt
    temperature = temperature_over(weather, air.pressure_altitude(static), rng)
    light = air.as_light_as(temperature, static, np.full_like(static, weather.humidity))
    mach = air.mach_number(at_port + felt - static, static)
    return Held(
        static=static,
        temperature=temperature,
        light=light,
        humidity=weather.humidity,
        airspeed=mach * air.speed_of_sound(light),
        climb=np.gradient(air.pressure_altitude(static)),
        heading=np.radians(profile.heading_deg + error.heading_deg),
    )


def impact_felt(impact_pa: Array, curve: ErrorCurve, weight: Array) -> Array:
    """Return what the indicator feels (Pa) of a true impact pressure (Pa).

    Solves `felt*(1 + kappa(felt)) = impact` by iteration: kappa changes slowly
    with the speed, so each round shrinks the error by about ten.

    Args:
        impact_pa: Shape (n,).
        weight (n,): kg.

    Returns:
        Shape (n,).
    """
    felt = impact_pa.copy()
    for _ in range(14):
        felt = impact_pa / (1.0 + curve.kappa_at(air.dial_speed(felt), weight))
    return felt


@dataclass(frozen=True)
class Motion:
    """Vectors east and north, m/s, shape (2, n): through the air, of the air, over the ground."""

    air: Array
    wind: Array
    ground: Array


def motion_of(
    held: Held, profile: Profile, weather: Weather, rising: Array, rng: np.random.Generator
) -> Motion:
    """Return how the aircraft moves through the wind, which is drawn here.

    Args:
        rising (n,): Speed (m/s) of rising air in which the altitude is held.
        rng: Numpy Generator.
    """
    altitude = air.pressure_altitude(held.static)
    wind = np.stack(wind_over(weather, altitude - altitude[0], rng))
    level = np.sqrt(np.maximum(held.airspeed**2 - held.climb**2, 0.0))
    along = np.stack([np.sin(held.heading), np.cos(held.heading)])
    followed = carried_along(wind, STEP_S)
    # Flown level, air rising at w drives the aircraft forward with g w/V.
    driven = air.GRAVITY * HELD_AGAINST * rising / np.maximum(level, LEAST_LEVEL_MPS)
    level = level + RESPONSE_S * following(driven, RESPONSE_S, STEP_S)
    rolling = TAXI_KT * KT * along
    ground = np.where(profile.airborne > 0.0, level * along + followed, rolling)
    return Motion(air=ground - wind, wind=wind, ground=ground)


def fly(
    card: Card,
    curve: ErrorCurve,
    weather: Weather,
    loading: Loading,
    hand: Hand,
    instruments: Instruments,
    rng: np.random.Generator,
) -> Flight:
    """Fly a card in a day's weather with an aircraft of a known error curve.

    Args:
        card: What the pilot means to do.
        curve: True error of the static source of this aircraft.
        hand: How well it is flown and measured.
        instruments: Those of the airframe.
        rng (numpy Generator): Source of everything random.
    """
    profile = draw_profile(card)
    count = profile.ias_kt.size
    weight = loading.start_kg - loading.burn_kg_per_s * np.arange(count, dtype=np.float64)
    held = _held(profile, curve, weight, weather=weather, hand=hand, rng=rng)
    motion = motion_of(held, profile, weather, rising_air(weather, count, rng), rng)
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


def recorded(
    profile: Profile,
    held: Held,
    motion: Motion,
    curve: ErrorCurve,
    weight: Array,
    hand: Hand,
    instruments: Instruments,
    rng: np.random.Generator,
) -> Flight:
    """Return a flight with what its instruments make of it.

    Args:
        weight (n,): kg.
        instruments: Those of the airframe.
        rng: Numpy Generator.
    """
    count = weight.size
    airspeed = np.sqrt((motion.air**2).sum(axis=0) + held.climb**2)
    mach = airspeed / air.speed_of_sound(held.temperature)
    moisture = np.full_like(airspeed, held.humidity)
    impact = air.moist_impact_pressure(airspeed, held.temperature, held.static, moisture)
    felt = impact_felt(impact, curve, weight)
    port = through_line(instruments, held.static + impact - felt)
    shown = through_line(instruments, held.static + impact) - port
    probe = air.probe_temperature(held.temperature, mach, instruments.probe_recovery)
    gps = [
        delayed(instruments, part) + remembering(rng, (count,), hand.gps_velocity_mps, 30.0, STEP_S)
        for part in motion.ground
    ]
    turn_rate = np.gradient(np.radians(profile.heading_deg))
    return Flight(
        profile=profile,
        weight=weight,
        kappa=curve.kappa_at(air.dial_speed(felt), weight),
        true_static=held.static,
        true_temperature=held.temperature,
        true_airspeed=airspeed,
        air_east=motion.air[0],
        air_north=motion.air[1],
        wind_east=motion.wind[0],
        wind_north=motion.wind[1],
        ground_east=motion.ground[0],
        ground_north=motion.ground[1],
        indicated_airspeed=air.dial_speed(shown) + instruments.airspeed_mps,
        indicated_altitude=air.pressure_altitude(port) + instruments.altimeter_m,
        probe_temperature=probe_reading(instruments, probe, airspeed),
        humidity_shown=np.clip(moisture + instruments.humidity, 0.0, 1.0),
        gps_east=gps[0],
        gps_north=gps[1],
        bank=np.arctan(held.airspeed * turn_rate / air.GRAVITY),
    )
