"""The air of an ordinary flight: a wind that turns with height, wanders, and goes with the place.

None of it is of a class that an estimator is likely to suppose: the profile with height is
Ekman's spiral, the wander is Ornstein-Uhlenbeck, the wind of the place is a pattern of waves
over the country, gusts are stronger near the ground. Pressure falls across the wind, as it
must where wind blows along the isobars, and with the hours.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seed_demo.air import FT, GRAVITY, KT, Array
from seed_demo.gusts import Bubbles, bubble_air, remembering, turbulence
from tests.airdata.simulations.air import MIDDLE_AIRSPEED_MPS, STEP_S
from tests.airdata.simulations.column import Column
from tests.airdata.simulations.itineraries import Itinerary

#: At 50 degrees of latitude.
CORIOLIS_PER_S = 1.12e-4
#: Near sea level.
M_PER_PA = 0.083
WAVES = 5
#: Air neither rises from the ground nor sinks into it: thermals are at full strength from here.
THERMALS_FROM_M = 400.0


@dataclass(frozen=True, kw_only=True)
class OrdinaryDay:
    """What days are like; each flight has a day drawn of it, "sd" are standard deviations.

    Attributes:
        wind_kt: Least and most wind above friction with the ground.
        friction: Least and most share of it that the ground takes away or turns (Ekman).
        friction_depth_m: Least and most height at which the wind is along the isobars.
        thermal_wind_kt_per_1000ft: Sd of a steady change of each component with height.
        veer_deg_per_hour: Sd of a steady turn.
        slow_kt, slow_memory_s: Sd of the wander of each component, least and most memory.
        place_kt, place_m: Sd of each component of a pattern over the country, least and most
            wavelength.
        line_kt: Sd of each component of a change of wind across a line over the country, some
            1 km wide, that the flight crosses: a sea breeze, a trough. None where it is zero.
        gust_mps: Sd of each component at the height of the cruise, of 2.2 times that near the
            ground.
        bubbles: Thermals.
        warmer_k, slope_k_per_km, layer_k: Sd of the air's departures from the standard.
        humidity: Least and most relative humidity of a flight.
        tendency_hpa_per_hour: Sd of the change of pressure.
    """

    wind_kt: tuple[float, float] = (6.0, 24.0)
    friction: tuple[float, float] = (0.3, 0.9)
    friction_depth_m: tuple[float, float] = (500.0, 1500.0)
    thermal_wind_kt_per_1000ft: float = 1.0
    veer_deg_per_hour: float = 8.0
    slow_kt: float = 1.5
    slow_memory_s: tuple[float, float] = (300.0, 600.0)
    place_kt: float = 0.8
    place_m: tuple[float, float] = (15e3, 80e3)
    line_kt: float = 0.0
    gust_mps: float = 0.35
    bubbles: Bubbles | None = None
    warmer_k: float = 6.0
    slope_k_per_km: float = 1.0
    layer_k: float = 0.8
    humidity: tuple[float, float] = (0.2, 0.9)
    tendency_hpa_per_hour: float = 0.4


ORDINARY_DAY = OrdinaryDay()
ROUGH_DAY = OrdinaryDay(
    wind_kt=(14.0, 32.0),
    slow_kt=2.5,
    place_kt=1.5,
    gust_mps=0.9,
    veer_deg_per_hour=15.0,
    bubbles=Bubbles(strength_mps=2.0, every_s=40.0),
)
LINE_DAY = OrdinaryDay(line_kt=4.0)
#: By the name under which a table may print them.
DAYS = {
    "ordinary day": ORDINARY_DAY,
    "rough day": ROUGH_DAY,
    "a line in the wind, sd 4 kt": LINE_DAY,
}


@dataclass(frozen=True, kw_only=True)
class FlightAir:
    """The air that one flight is flown in: as in `DrawnAir`, and its column.

    Attributes:
        wind, shear: Shape (2, samples), m/s and per second.
        met: Shape (3, samples), m/s.
        column: Numbers, not arrays, in it.
        slope (2,): Rise of a surface of equal pressure eastwards and northwards.
        rise_mps: Of that surface with time.
    """

    wind: Array
    shear: Array
    met: Array
    column: Column
    humidity: float
    slope: Array
    rise_mps: float


def draw_flight_air(
    rng: np.random.Generator, day: OrdinaryDay, itinerary: Itinerary, wind_from_deg: float
) -> FlightAir:
    """Draw the air of a flight.

    Args:
        rng: Numpy Generator.
        wind_from_deg: Where the wind above friction comes from in the middle of the flight.
    """
    samples = len(itinerary.altitude_m)
    time_s = np.arange(samples) * STEP_S
    above_field = itinerary.altitude_m - itinerary.field_m
    free = KT * rng.uniform(*day.wind_kt) * np.exp(1j * np.radians(270.0 - wind_from_deg))
    profile = _Profile.draw(rng, day, free)
    veer = np.radians(rng.normal(0.0, day.veer_deg_per_hour)) / 3600.0 * (time_s - time_s[-1] / 2.0)
    turning = np.exp(-1j * veer)
    wind = np.stack(_parts(profile.at(above_field) * turning))
    wind += remembering(rng, wind.shape, day.slow_kt * KT, rng.uniform(*day.slow_memory_s), STEP_S)
    way = (itinerary.airspeed_mps + 2.0) * np.exp(1j * (np.pi / 2.0 - itinerary.heading_rad))
    place = np.cumsum(way + wind[0] + 1j * wind[1]) * STEP_S
    wind += _of_the_place(rng, day, place)
    shear = (profile.at(above_field + 10.0) - profile.at(above_field - 10.0)) / 20.0
    met, column = _met(rng, day, above_field), _draw_column(rng, day, itinerary.field_m)
    humidity = float(rng.uniform(*day.humidity))
    tendency_pa_per_s = 100.0 / 3600.0 * rng.normal(0.0, day.tendency_hpa_per_hour)
    if day.line_kt > 0.0:  # drawn last: the rest is that of a day without a line
        wind += _across_a_line(rng, day, place)
    return FlightAir(
        wind=wind,
        shear=np.stack(_parts(shear * turning)),
        met=met,
        column=column,
        humidity=humidity,
        # geostrophic wind: with the lower pressure on its left, on the northern half
        slope=CORIOLIS_PER_S / GRAVITY * np.array([free.imag, -free.real]),
        rise_mps=float(M_PER_PA * tendency_pa_per_s),
    )


@dataclass(frozen=True)
class _Profile:
    free: complex
    friction: float
    depth_m: float
    thermal: complex

    @classmethod
    def draw(cls, rng: np.random.Generator, day: OrdinaryDay, free: complex) -> _Profile:
        per_m = day.thermal_wind_kt_per_1000ft * KT / (1000.0 * FT)
        return cls(
            free,
            float(rng.uniform(*day.friction)),
            float(rng.uniform(*day.friction_depth_m)),
            complex(*rng.normal(0.0, per_m, 2)),
        )

    def at(self, above_field_m: Array) -> Array:
        """Return the wind as complex numbers, east + i north.

        Ekman's spiral under a uniform wind along the isobars: J. R. Holton, An Introduction to
        Dynamic Meteorology (from memory), with a free amplitude instead of no wind at the ground.
        """
        spiral = np.exp(-(1.0 + 1.0j) * np.pi * above_field_m / self.depth_m)
        free = self.free * (1.0 - self.friction * spiral)
        return np.asarray(free + self.thermal * above_field_m)


def _parts(vector: Array) -> tuple[Array, Array]:
    return vector.real, vector.imag


def _of_the_place(rng: np.random.Generator, day: OrdinaryDay, place: Array) -> Array:
    """Return the wind (2, samples) of a pattern at places, complex numbers in m."""
    found = np.zeros((2, len(place)))
    for component in range(2):
        for _ in range(WAVES):
            length = np.exp(rng.uniform(*np.log(day.place_m)))
            along = np.exp(1j * rng.uniform(0.0, 2.0 * np.pi))
            phase = rng.uniform(0.0, 2.0 * np.pi)
            found[component] += np.sin(2.0 * np.pi / length * (place * along).real + phase)
    return np.asarray(found * day.place_kt * KT * np.sqrt(2.0 / WAVES))


def _across_a_line(rng: np.random.Generator, day: OrdinaryDay, place: Array) -> Array:
    """Return the wind (2, samples) of a line that goes through a place of the flight."""
    crossed = place[int(rng.uniform(0.2, 0.8) * len(place))]
    along = np.exp(1j * rng.uniform(0.0, 2.0 * np.pi))
    beyond = np.tanh(((place - crossed) * along).real / rng.uniform(300.0, 1000.0))
    return np.asarray(0.5 * rng.normal(0.0, day.line_kt * KT, (2, 1)) * beyond)


def _met(rng: np.random.Generator, day: OrdinaryDay, above_field: Array) -> Array:
    shape = (1, len(above_field))
    stronger = 1.0 + 1.2 * np.exp(-np.maximum(above_field, 0.0) / 400.0)
    met = turbulence(rng, shape, day.gust_mps, STEP_S)[:, 0] * stronger
    if day.bubbles is not None:
        bubbles = bubble_air(rng, shape, day.bubbles, STEP_S, MIDDLE_AIRSPEED_MPS)[:, 0]
        met += bubbles * np.clip(above_field / THERMALS_FROM_M, 0.0, 1.0)
    return met


def _draw_column(rng: np.random.Generator, day: OrdinaryDay, field_m: float) -> Column:
    return Column(
        warmer_k=np.array(rng.normal(0.0, day.warmer_k)),
        slope_k_per_m=np.array(rng.normal(0.0, day.slope_k_per_km) / 1000.0),
        layer_k=np.array(abs(rng.normal(0.0, day.layer_k))),
        layer_m=np.array(field_m + rng.uniform(500.0, 1500.0)),
    )
