"""What is true of climbs and glides: power, propeller and drag of each engine and propeller.

The propeller is a disc that speeds the air up by as much as its thrust asks for,
with a fixed share lost to blade drag (momentum theory); the drag is parabolic in
the lift coefficient about a cambered wing's best one. Thrust comes out curved in
the airspeed, as it is; nothing is taken from the relations of the program under
demonstration. All numbers are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from seed_demo.air import (
    FT,
    GAS_CONSTANT,
    GRAVITY,
    KT,
    SEA_LEVEL_PA,
    Array,
    dial_impact_pressure,
    mach_number,
    pressure_altitude,
    speed_of_sound,
    standard_pressure,
    standard_temperature,
)
from seed_demo.truth import (
    CONSTANT_SPEED,
    FIXED,
    LARGE_ENGINE,
    REFERENCE_WEIGHT_KG,
    SMALL_ENGINE,
)

WING_AREA_M2: Final = 11.8
LEAST_DRAG_LIFT: Final = 0.12
IDLE: Final = "idle"
#: Share of the power of dry standard air that friction takes (from memory, common practice).
FRICTION_SHARE: Final = 0.117
SLOWEST_KT, FASTEST_KT, STEP_KT = 48.0, 120.0, 0.02
ROUNDS: Final = 30


@dataclass(frozen=True, kw_only=True)
class PowerState:
    """A power setting by its tag: shaft power (W) in standard air at sea level, and its limit.

    `held` says that a turbocharger and governor keep it at any height of the
    demonstration. `estimate_kw` is what the technical officer takes the power times
    the efficiency of the propeller for: a round number, not the truth.
    """

    tag: str
    shaft_w: float
    held: bool
    estimate_kw: float
    limit: str = ""


@dataclass(frozen=True, kw_only=True)
class Plant:
    """Engine, propeller and the airframe they drive: one pairing, or one airframe of it.

    `disc_m2` is the propeller's disc, `blade_share` what blade drag leaves of the
    power, `slow_share` the power of a fixed propeller standing still over that at
    60 m/s (it turns slower), `parasite` the drag coefficient at the best lift
    coefficient, `idle_parasite` what the idling propeller adds.
    """

    engine: str
    propeller: str
    states: tuple[PowerState, ...]
    disc_m2: float
    blade_share: float
    slow_share: float
    idle_parasite: float
    parasite: float = 0.0265
    induced: float = 1.0 / 7.6
    power_share: float = 1.0

    @property
    def name(self) -> str:
        """The name under which the commands know the pairing."""
        return f"{self.engine} / {self.propeller}"

    def state(self, tag: str) -> PowerState:
        """Return a power state by its tag."""
        return next(state for state in self.states if state.tag == tag)


FIXED_PLANT: Final = Plant(
    engine=SMALL_ENGINE,
    propeller=FIXED,
    states=(PowerState(tag="full power", shaft_w=75000.0, held=False, estimate_kw=48.0),),
    disc_m2=1.9,
    blade_share=0.87,
    slow_share=0.84,
    idle_parasite=0.0085,
)
TURBO_PLANT: Final = Plant(
    engine=LARGE_ENGINE,
    propeller=CONSTANT_SPEED,
    states=(
        PowerState(
            tag="full power", shaft_w=100000.0, held=True, estimate_kw=70.0, limit="5 minutes"
        ),
        PowerState(tag="continuous power", shaft_w=78000.0, held=True, estimate_kw=56.0),
    ),
    disc_m2=1.6,
    blade_share=0.84,
    slow_share=1.0,
    idle_parasite=0.0060,
)
PLANTS: Final = (FIXED_PLANT, TURBO_PLANT)


def plant_of(engine: str, propeller: str) -> Plant:
    """Return the plant of an engine and a propeller."""
    return next(p for p in PLANTS if (p.engine, p.propeller) == (engine, propeller))


def drawn_plant(plant: Plant, rng: np.random.Generator) -> Plant:
    """Draw how one airframe departs from its pairing: 1.5 % in power, 2.5 % in parasite drag."""
    return replace(
        plant,
        power_share=1.0 + float(rng.normal(0.0, 0.015)),
        parasite=plant.parasite * (1.0 + float(rng.normal(0.0, 0.025))),
    )


def shaft_power_w(
    plant: Plant, tag: str, tas_mps: Array, static_pa: Array, temperature_k: Array
) -> Array:
    """Return the power (W) at the shaft; shapes broadcast.

    A held power is the same everywhere. Otherwise it falls with the pressure of
    the air drawn in, less friction, and in warm air with the root of temperature.
    """
    state = plant.state(tag)
    turning = plant.slow_share + (1.0 - plant.slow_share) * tas_mps / 60.0
    power = state.shaft_w * plant.power_share * turning
    if state.held:
        return np.asarray(power + 0.0 * static_pa)
    delta = static_pa / SEA_LEVEL_PA
    breathing = delta * (1.0 + FRICTION_SHARE) - FRICTION_SHARE
    warm = np.sqrt(standard_temperature(pressure_altitude(static_pa)) / temperature_k)
    return np.asarray(power * breathing * warm)


def thrust_n(plant: Plant, power_w: Array, tas_mps: Array, density: Array) -> Array:
    """Return the thrust (N) of a power (W) by momentum theory; shapes broadcast.

    Solves `thrust * (V + w) = share * power` with the induced speed
    `w = -V/2 + sqrt(V^2/4 + thrust/(2 density disc))`, by halving the interval: the
    left side rises with thrust.
    """
    useful = plant.blade_share * power_w
    low = np.zeros(np.broadcast(useful, tas_mps, density).shape)
    high = low + 2.0 * useful / np.maximum(tas_mps, 1.0)
    for _ in range(ROUNDS):
        middle = 0.5 * (low + high)
        through = 0.5 * tas_mps + np.sqrt(
            0.25 * tas_mps**2 + middle / (2.0 * density * plant.disc_m2)
        )
        too_much = middle * through > useful
        high = np.where(too_much, middle, high)
        low = np.where(too_much, low, middle)
    return np.asarray(0.5 * (low + high))


def drag_n(plant: Plant, lift_n: Array, tas_mps: Array, density: Array, *, idle: bool) -> Array:
    """Return the drag (N) at a lift (N), with that of the idling propeller or without."""
    pressure_area = 0.5 * density * tas_mps**2 * WING_AREA_M2
    lift = lift_n / pressure_area
    parasite = plant.parasite + (plant.idle_parasite if idle else 0.0)
    return np.asarray(pressure_area * (parasite + plant.induced * (lift - LEAST_DRAG_LIFT) ** 2))


def sine_of_path(
    plant: Plant,
    tag: str,
    tas_mps: Array,
    weight_kg: Array,
    static_pa: Array,
    temperature_k: Array,
) -> Array:
    """Return the sine of the angle of the path, upwards, in steady flight; shapes broadcast.

    Args:
        tag: A power state's, or `IDLE`.

    Returns:
        Thrust less drag over weight, with the lift of the inclined path.
    """
    density = static_pa / (GAS_CONSTANT * temperature_k)
    weight = weight_kg * GRAVITY
    thrust = np.zeros_like(density * tas_mps)
    if tag != IDLE:
        power = shaft_power_w(plant, tag, tas_mps, static_pa, temperature_k)
        thrust = thrust_n(plant, power, tas_mps, density)
    sine = np.zeros_like(thrust)
    for _ in range(4):
        lift = weight * np.sqrt(1.0 - np.minimum(sine, 0.9) ** 2)
        sine = (thrust - drag_n(plant, lift, tas_mps, density, idle=tag == IDLE)) / weight
    return np.asarray(sine)


def standard_tas(cas_kt: Array, altitude_ft: float) -> tuple[Array, Array, Array]:
    """Return true airspeed (m/s), pressure (Pa) and temperature (K) in standard air."""
    altitude = np.full_like(cas_kt, altitude_ft * FT)
    static, temperature = standard_pressure(altitude), standard_temperature(altitude)
    mach = mach_number(dial_impact_pressure(cas_kt * KT), static)
    return mach * speed_of_sound(temperature), static, temperature


def rate_ftmin(plant: Plant, tag: str, cas_kt: Array, altitude_ft: float) -> Array:
    """Return the steady rate (ft/min, upwards) at reference weight in standard air."""
    tas, static, temperature = standard_tas(cas_kt, altitude_ft)
    weight = np.full_like(tas, REFERENCE_WEIGHT_KG)
    sine = sine_of_path(
        plant, tag, tas, weight_kg=weight, static_pa=static, temperature_k=temperature
    )
    return np.asarray(tas * sine / FT * 60.0)


def best_speeds_kt(plant: Plant, tag: str, altitude_ft: float) -> dict[str, float]:
    """Return the best speeds (kt CAS) by looking at every fiftieth of a knot.

    Args:
        tag: A power state's, or `IDLE`.
        altitude_ft: Pressure altitude.

    Returns:
        Under the names that the commands use.
    """
    cas = np.arange(SLOWEST_KT, FASTEST_KT, STEP_KT)
    tas, static, temperature = standard_tas(cas, altitude_ft)
    weight = np.full_like(tas, REFERENCE_WEIGHT_KG)
    sine = sine_of_path(
        plant, tag, tas, weight_kg=weight, static_pa=static, temperature_k=temperature
    )
    steepest, fastest = float(cas[np.argmax(sine)]), float(cas[np.argmax(sine * tas)])
    if tag == IDLE:
        return {"best glide": steepest, "least sink": fastest}
    return {"best rate of climb": fastest, "best angle of climb": steepest}
