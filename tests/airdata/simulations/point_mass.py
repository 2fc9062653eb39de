"""An aircraft of a point mass in moving air, with a pilot who is not perfect.

The air moves and the mass does not: a short gust is felt by the pitot at once
and by the ground vector hardly; within some ten seconds drag, side force and the
pilot take the aircraft along with the air. All flights of a batch are
integrated together, at `STEP_S`.

Invented figures of a light two-seater. The engine gives constant power, drag is
a parabolic polar, sideslip makes a side force, the aircraft rises and sinks with
the air, and climbing through it costs airspeed. Density is that of the altitude
meant. Rates of climb are those of pressure altitude: that the metres of a warm
day are longer, by some 3 %, is left out here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seed_demo import air as atmosphere
from seed_demo.air import FT, GRAVITY, KT, Array
from seed_demo.gusts import remembering
from tests.airdata.simulations.air import STEP_S, DrawnAir
from tests.airdata.simulations.column import USUAL, Column
from tests.airdata.simulations.plans import Plan

MASS_KG, WING_M2 = 600.0, 11.0
DRAG_AT_NO_LIFT, INDUCED = 0.030, 0.055
SIDE_FORCE = 0.45  # per radian of sideslip
HEAVE_S = 0.6  # how soon lift takes the aircraft along with rising air
PITCH_S, ENGINE_S = 2.0, 2.5  # how soon a change of climb or power takes effect


@dataclass(frozen=True, kw_only=True)
class Pilot:
    """How well the intention is held: standard deviations of slow wandering, and hunting.

    Hunting is a swing to either side, from end to end twice the figure, with its period.
    `throttle_per_s` is how much the pilot corrects airspeed by power; one who `anticipates`
    sets the power for a planned change of airspeed too, and not after it only.
    """

    airspeed_kt: float = 0.5
    altitude_ft: float = 10.0
    heading_deg: float = 0.6
    hunting_airspeed_kt: float = 0.0
    hunting_heading_deg: float = 0.0
    hunting_s: float = 20.0
    throttle_per_s: float = 0.05
    anticipates: bool = False


@dataclass(frozen=True, kw_only=True)
class Motion:
    """What the flights do, arrays of shape (flights, samples), SI.

    Attributes:
        east_mps, north_mps: Over the ground.
        wind_east_mps, wind_north_mps: Of the air at the aircraft, gusts included.
        airspeed_mps: True, as the pitot feels it.
        altitude_m: True pressure altitude.
        temperature_k: Of the air.
        load_factor: Shape (samples,) where all flights have one plan.
    """

    east_mps: Array
    north_mps: Array
    wind_east_mps: Array
    wind_north_mps: Array
    airspeed_mps: Array
    altitude_m: Array
    temperature_k: Array
    load_factor: Array


def true_for_indicated(indicated_mps: Array, altitude_m: Array, column: Column) -> Array:
    """Return the true airspeed (m/s) that goes with a reading of a port free of error."""
    static = atmosphere.standard_pressure(altitude_m)
    felt = atmosphere.dial_impact_pressure(indicated_mps)
    sound = atmosphere.speed_of_sound(column.temperature_at(altitude_m))
    return atmosphere.mach_number(felt, static) * sound


def fly(
    rng: np.random.Generator, plan: Plan, air: DrawnAir, pilot: Pilot, column: Column = USUAL
) -> Motion:
    """Fly a plan in drawn air, each flight from a first heading of its own.

    Args:
        rng: Numpy Generator.
    """
    meant = Meant.draw(rng, plan, pilot, air.wind.shape[1], column)
    return fly_meant(meant, air, pilot, column)


def fly_meant(meant: Meant, air: DrawnAir, pilot: Pilot, column: Column) -> Motion:
    """Fly what the pilot tries to hold, in drawn air."""
    flights, samples = air.wind.shape[1:]
    kept = np.empty((6, samples, flights))
    state = _State.at_rest_in(air, meant)
    for i in range(samples):
        kept[:, i] = state.step(i, air, meant, pilot)
    east, north, wind_east, wind_north, airspeed, altitude = kept.transpose(0, 2, 1)
    return Motion(
        east_mps=east,
        north_mps=north,
        wind_east_mps=wind_east,
        wind_north_mps=wind_north,
        airspeed_mps=airspeed,
        altitude_m=altitude,
        temperature_k=column.temperature_at(altitude),
        load_factor=meant.load_factor,
    )


@dataclass(frozen=True, kw_only=True)
class Meant:
    """What the pilot tries to hold, shapes (flights, samples).

    Where all flights have one plan, those of the last four are (samples,).

    Attributes:
        airspeed: True.
        altitude: Pressure altitude, with the pilot's wandering.
        turn_rate: With the pilot's wandering.
        trim: Acceleration by thrust that balances drag and climb at the airspeed meant.
        load_factor: Of the planned turns.
        level: Planned pressure altitude.
        climb: Planned change of it, per second.
        density: Of the air there.
    """

    airspeed: Array
    altitude: Array
    heading: Array
    turn_rate: Array
    trim: Array
    load_factor: Array
    level: Array
    climb: Array
    density: Array

    @classmethod
    def draw(
        cls, rng: np.random.Generator, plan: Plan, pilot: Pilot, flights: int, column: Column
    ) -> Meant:
        """Draw how the pilots of flights wander about a plan.

        Args:
            rng: Numpy Generator.
        """
        shape = (flights, plan.heading_rad.shape[-1])
        alike = plan.heading_rad.ndim == 1
        time_s = np.arange(shape[1]) * STEP_S

        def wandering(sd: float, memory_s: float) -> Array:
            return remembering(rng, shape, sd, memory_s, STEP_S)

        def hunting(size: float) -> Array:
            phase = rng.uniform(0.0, 2.0 * np.pi, (flights, 1))
            return size * np.sin(2.0 * np.pi * time_s / pilot.hunting_s + phase)

        planned = true_for_indicated(plan.airspeed_mps, plan.altitude_m, column)
        airspeed = planned + KT * (
            wandering(pilot.airspeed_kt, 40.0) + hunting(pilot.hunting_airspeed_kt)
        )
        first = rng.uniform(0.0, 2.0 * np.pi, (flights, 1)) if alike else 0.0
        heading = first + plan.heading_rad
        heading = heading + np.radians(
            _smooth(wandering(pilot.heading_deg, 20.0)) + hunting(pilot.hunting_heading_deg)
        )
        turn_rate = np.gradient(heading, STEP_S, axis=1)
        planned_rate = np.gradient(plan.heading_rad, STEP_S, axis=-1)
        speed = airspeed.mean(axis=0) if alike else airspeed
        load = np.sqrt(1.0 + (planned_rate * speed / GRAVITY) ** 2)
        climb = np.gradient(plan.altitude_m, STEP_S, axis=-1)
        density = column.density_at(plan.altitude_m)
        trim = _drag(airspeed, load, density) + GRAVITY * climb / airspeed
        if pilot.anticipates:
            trim = trim + np.gradient(planned, STEP_S, axis=-1)
        return cls(
            airspeed=airspeed,
            altitude=plan.altitude_m + FT * wandering(pilot.altitude_ft, 40.0),
            heading=heading,
            turn_rate=turn_rate,
            trim=trim,
            load_factor=load,
            level=plan.altitude_m,
            climb=climb,
            density=density,
        )


def _smooth(wander: Array) -> Array:
    """Take the jerks out of a wandering of headings, which no aircraft could follow."""
    wide = round(2.0 / STEP_S)
    return np.apply_along_axis(np.convolve, 1, wander, np.full(wide, 1.0 / wide), "same")


def _drag(airspeed: Array, load: Array, density: Array) -> Array:
    """Return drag over mass, m/s2."""
    push = 0.5 * density * WING_M2 / MASS_KG * airspeed**2
    return push * DRAG_AT_NO_LIFT + INDUCED * (load * GRAVITY) ** 2 / push


@dataclass(kw_only=True)
class _State:
    """The moving parts of every flight, shape (flights,)."""

    east: Array
    north: Array
    rise: Array
    height: Array
    climb: Array
    power: Array

    @classmethod
    def at_rest_in(cls, air: DrawnAir, meant: Meant) -> _State:
        heading, speed = meant.heading[:, 0], meant.airspeed[:, 0]
        none = np.zeros_like(speed)
        return cls(
            east=speed * np.sin(heading) + air.wind[0, :, 0],
            north=speed * np.cos(heading) + air.wind[1, :, 0],
            rise=none + meant.climb[..., 0],
            height=none + meant.level[..., 0],
            climb=none + meant.climb[..., 0],
            power=none.copy(),
        )

    def step(self, i: int, air: DrawnAir, meant: Meant, pilot: Pilot) -> tuple[Array, ...]:
        """Return the state at sample `i`, and move on to the next."""
        sin, cos = np.sin(meant.heading[:, i]), np.cos(meant.heading[:, i])
        along_gust, across_gust, up = air.met[:, :, i]
        off = self.height - meant.level[..., i]
        sheared_east, sheared_north = air.wind[:, :, i] + air.shear_at(i) * off
        wind_east = sheared_east + along_gust * sin + across_gust * cos
        wind_north = sheared_north + along_gust * cos - across_gust * sin
        through_east, through_north = self.east - wind_east, self.north - wind_north
        along = through_east * sin + through_north * cos
        across = through_east * cos - through_north * sin
        through_up = self.rise - up
        airspeed = np.sqrt(along**2 + across**2 + through_up**2)
        now = (self.east, self.north, wind_east, wind_north, airspeed, self.height)
        wanted = meant.airspeed[:, i]
        self._push(meant, i, along, across, through_up, airspeed, sin, cos)
        slow = wanted - airspeed
        self.power = self.power + (pilot.throttle_per_s * slow - self.power) * (STEP_S / ENGINE_S)
        ask = (meant.altitude[:, i] - self.height) / 12.0 - 0.5 * self.rise - 0.1 * slow
        ask += 1.5 * meant.climb[..., i]
        self.climb = self.climb + (ask - self.climb) * (STEP_S / PITCH_S)
        self.height = self.height + STEP_S * self.rise
        self.rise = self.rise + (up + self.climb - self.rise) * (STEP_S / HEAVE_S)
        return now

    def _push(
        self,
        meant: Meant,
        i: int,
        along: Array,
        across: Array,
        through_up: Array,
        airspeed: Array,
        sin: Array,
        cos: Array,
    ) -> None:
        thrust = meant.trim[:, i] * meant.airspeed[:, i] / airspeed + self.power
        density = meant.density[..., i]
        drag = _drag(airspeed, meant.load_factor[..., i], density)
        forward = thrust - drag - GRAVITY * through_up / airspeed
        side = 0.5 * density * WING_M2 / MASS_KG * SIDE_FORCE * airspeed * across
        sideways = along * meant.turn_rate[:, i] - side
        self.east = self.east + STEP_S * (forward * sin + sideways * cos)
        self.north = self.north + STEP_S * (forward * cos - sideways * sin)
