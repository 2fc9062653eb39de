"""The flight itself: the pilot's errors, the aircraft in moving air, the readings.

Two truths hold at every second: air vector plus wind is ground vector, and the
static port passes on the outside pressure plus kappa times the impact pressure
felt. The pitot pressure and both instruments are taken as free of error.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from seed_demo import air
from seed_demo.air import FT, KT, Array
from seed_demo.card import Card, Profile, draw_profile
from seed_demo.truth import ErrorCurve
from seed_demo.weather import Weather, lagged, remembering_noise, temperature_over, wind_over

# Inertia: how fast the aircraft takes up a change of the wind (invented, plausible).
FOLLOWS_WIND_S: Final = 12.0
PROBE_LAG_S: Final = 6.0
HAND_MEMORY_S: Final = 18.0
HAND_SMOOTHING_S: Final = 6.0
TAXI_KT: Final = 8.0


@dataclass(frozen=True)
class Hand:
    """How well a sortie is flown and measured: standard deviations, in the units named."""

    airspeed_hold_kt: float = 0.8
    altitude_hold_ft: float = 15.0
    heading_hold_deg: float = 0.6
    gps_velocity_mps: float = 0.05
    temperature_bias_k: float = 0.0


PERFECT_HAND: Final = Hand(0.0, 0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Loading:
    """Weight (kg) at the start and fuel burnt (kg/s)."""

    start_kg: float
    burn_kg_per_s: float = 0.0


@dataclass(frozen=True)
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
    gps_east: Array
    gps_north: Array
    bank: Array


@dataclass(frozen=True)
class Held:
    """What the pilot makes of the intention, before gusts."""

    static: Array
    temperature: Array
    airspeed: Array
    climb: Array
    heading: Array


def by_hand(rng: np.random.Generator, count: int, sd: float) -> Array:
    """Return the smooth wandering (n,) of something held by hand, of a standard deviation."""
    memory = HAND_MEMORY_S + HAND_SMOOTHING_S
    # The lag takes part of the scatter away; what is put in is larger by that much.
    put_in = sd * np.sqrt(memory / HAND_MEMORY_S)
    return lagged(remembering_noise(rng, count, put_in, HAND_MEMORY_S), HAND_SMOOTHING_S)


def _held(
    profile: Profile,
    curve: ErrorCurve,
    weight: Array,
    weather: Weather,
    hand: Hand,
    rng: np.random.Generator,
) -> Held:
    count = profile.ias_kt.size
    speed_error = by_hand(rng, count, hand.airspeed_hold_kt)
    altitude_error = by_hand(rng, count, hand.altitude_hold_ft)
    heading_error = by_hand(rng, count, hand.heading_hold_deg)
    dial = np.maximum(profile.ias_kt + profile.airborne * speed_error, 0.0) * KT
    altitude = (profile.altitude_ft + profile.airborne * altitude_error) * FT
    at_port = air.standard_pressure(altitude)
    felt = air.dial_impact_pressure(dial)
    static = at_port - curve.kappa_at(dial, weight) * felt
    temperature = temperature_over(weather, air.pressure_altitude(static), rng)
    mach = air.mach_number(at_port + felt - static, static)
    return Held(
        static=static,
        temperature=temperature,
        airspeed=mach * air.speed_of_sound(temperature),
        climb=np.gradient(air.pressure_altitude(static)),
        heading=np.radians(profile.heading_deg + heading_error),
    )


def impact_felt(impact_pa: Array, curve: ErrorCurve, weight: Array) -> Array:
    """Return what the indicator feels (Pa) of a true impact pressure (Pa).

    Solves `felt*(1 + kappa(felt)) = impact` by iteration: kappa changes slowly
    with the speed, so each round shrinks the error by about ten.

    Parameters
    ----------
    impact_pa : ndarray, shape (n,)
    curve : ErrorCurve
    weight : ndarray, shape (n,)
        kg.

    Returns
    -------
    ndarray, shape (n,)
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


def motion_of(held: Held, profile: Profile, weather: Weather, rng: np.random.Generator) -> Motion:
    """Return how the aircraft moves through the wind, which is drawn here."""
    altitude = air.pressure_altitude(held.static)
    wind = np.stack(wind_over(weather, altitude - altitude[0], rng))
    level = np.sqrt(np.maximum(held.airspeed**2 - held.climb**2, 0.0))
    along = np.stack([np.sin(held.heading), np.cos(held.heading)])
    # A gust meets the aircraft as airspeed first; the path over the ground follows later.
    followed = np.stack([lagged(part, FOLLOWS_WIND_S) for part in wind])
    rolling = TAXI_KT * KT * along
    ground = np.where(profile.airborne > 0.0, level * along + followed, rolling)
    return Motion(air=ground - wind, wind=wind, ground=ground)


def fly(
    card: Card,
    curve: ErrorCurve,
    weather: Weather,
    loading: Loading,
    hand: Hand,
    probe_recovery: float,
    rng: np.random.Generator,
) -> Flight:
    """Fly a card in a day's weather with an aircraft of a known error curve.

    Parameters
    ----------
    card : Card
        What the pilot means to do.
    curve : ErrorCurve
        True error of the static source of this aircraft.
    weather : Weather
    loading : Loading
    hand : Hand
        How well it is flown and measured.
    probe_recovery : float
        Recovery factor of the temperature probe, no unit.
    rng : numpy Generator
        Source of everything random.

    Returns
    -------
    Flight
    """
    profile = draw_profile(card)
    count = profile.ias_kt.size
    weight = loading.start_kg - loading.burn_kg_per_s * np.arange(count, dtype=np.float64)
    held = _held(profile, curve, weight, weather, hand, rng)
    motion = motion_of(held, profile, weather, rng)
    return recorded(profile, held, motion, curve, weight, hand, probe_recovery, rng)


def recorded(
    profile: Profile,
    held: Held,
    motion: Motion,
    curve: ErrorCurve,
    weight: Array,
    hand: Hand,
    probe_recovery: float,
    rng: np.random.Generator,
) -> Flight:
    """Return a flight with what its instruments make of it.

    Parameters
    ----------
    profile : Profile
    held : Held
    motion : Motion
    curve : ErrorCurve
    weight : ndarray, shape (n,)
        kg.
    hand : Hand
    probe_recovery : float
        Recovery factor of the temperature probe, no unit.
    rng : numpy Generator

    Returns
    -------
    Flight
    """
    count = weight.size
    airspeed = np.sqrt((motion.air**2).sum(axis=0) + held.climb**2)
    mach = airspeed / air.speed_of_sound(held.temperature)
    impact = air.impact_pressure(mach, held.static)
    felt = impact_felt(impact, curve, weight)
    probe = air.probe_temperature(held.temperature, mach, probe_recovery)
    gps = [
        part + remembering_noise(rng, count, hand.gps_velocity_mps, 30.0) for part in motion.ground
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
        indicated_airspeed=air.dial_speed(felt),
        indicated_altitude=air.pressure_altitude(held.static + impact - felt),
        probe_temperature=lagged(probe, PROBE_LAG_S) + hand.temperature_bias_k,
        gps_east=gps[0],
        gps_north=gps[1],
        bank=np.arctan(held.airspeed * turn_rate / air.GRAVITY),
    )
