"""Ordinary flights with the truth: what every owner has on his card, flown for no test purpose.

``ordinary_flights(ORDINARY_DAY, airframes=200, flights_each=20, seed=1)`` gives a list of
`OrdinaryAirframe`; ``each_ordinary_airframe(ORDINARY_DAY, range(200), 20, 1)`` gives one after
the other, which a large fleet needs: a flight takes half a megabyte.
``airframe.kappa_at(vic_mps)`` is the true error of its port in straight flight;
``airframe.flights[i]`` holds

- ``log``: once a second, what a recorder keeps, SI, and the height of the satellite receiver;
- ``truth``: at the same seconds, kappa, wind, load factor and so on, without the errors and lags
  of instruments;
- ``stretches``: what the pilot meant, with times in seconds from the start of the log.

The probe's recovery factor is `RECOVERY` but for its error; weight is constant, flaps are up.
An airframe is the same by its seed and number, whatever others are drawn, so that processes can
share a fleet: ``range(100)`` for one and ``range(100, 200)`` for another.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from seed_demo import air as atmosphere
from seed_demo.air import Array
from seed_demo.gusts import remembering
from tests.airdata.simulations.air import STEP_S
from tests.airdata.simulations.column import height_over
from tests.airdata.simulations.itineraries import Itinerary, Stretch, draw_itinerary
from tests.airdata.simulations.ordinary_air import (
    DAYS,
    ORDINARY_DAY,
    ROUGH_DAY,
    FlightAir,
    OrdinaryDay,
    draw_flight_air,
)
from tests.airdata.simulations.ordinary_airframes import (
    Errors,
    Port,
    draw_errors,
    draw_instruments,
    draw_port,
)
from tests.airdata.simulations.ordinary_motion import Intended, fly_together, intend
from tests.airdata.simulations.point_mass import Motion, Pilot
from tests.airdata.simulations.recorder import EVERY, RECOVERY, Instruments, Log, record

#: Holds less well than one who measures.
OWNER = Pilot(
    airspeed_kt=1.2, altitude_ft=30.0, heading_deg=1.5, throttle_per_s=0.12, anticipates=True
)
FLIGHTS_AT_ONCE = 200
GNSS_HEIGHT_M, GNSS_HEIGHT_MEMORY_S, GNSS_HEIGHT_STEP_M = 5.0, 300.0, 0.1

__all__ = [
    "DAYS",
    "ORDINARY_DAY",
    "RECOVERY",
    "ROUGH_DAY",
    "OrdinaryAirframe",
    "OrdinaryDay",
    "OrdinaryFlight",
    "calibrated",
    "each_ordinary_airframe",
    "ordinary_flights",
]


@dataclass(frozen=True, kw_only=True)
class OrdinaryLog:
    """Once a second as recorded, arrays (seconds,), SI; `height_m` is the receiver's."""

    time_s: Array
    airspeed_mps: Array
    altitude_m: Array
    temperature_k: Array
    east_mps: Array
    north_mps: Array
    height_m: Array


@dataclass(frozen=True, kw_only=True)
class OrdinaryTruth:
    """The truth at the seconds of the log, arrays (seconds,), SI.

    Attributes:
        kappa: Error of the port, at the airspeed and load factor of the moment.
        wind_east_mps, wind_north_mps: Of the air at the aircraft, gusts included.
        calm_east_mps, calm_north_mps: The same without gusts.
        load_factor: Of the planned turns.
        indicated_mps: Without the indicator's error and lags, with the port's error.
        airspeed_mps: True airspeed.
        altitude_m: Pressure altitude of the air outside.
        temperature_k: Of the air outside.
        height_m: Above sea level.
    """

    kappa: Array
    wind_east_mps: Array
    wind_north_mps: Array
    calm_east_mps: Array
    calm_north_mps: Array
    load_factor: Array
    indicated_mps: Array
    airspeed_mps: Array
    altitude_m: Array
    temperature_k: Array
    height_m: Array


@dataclass(frozen=True, kw_only=True)
class OrdinaryFlight:
    """One flight; `humidity` is the true relative one, up to 1."""

    log: OrdinaryLog
    truth: OrdinaryTruth
    stretches: tuple[Stretch, ...]
    humidity: float


@dataclass(frozen=True, kw_only=True)
class OrdinaryAirframe:
    """An airframe with its flights in order of time."""

    port: Port
    errors: Errors
    instruments: Instruments
    flights: tuple[OrdinaryFlight, ...]

    def kappa_at(self, vic_mps: Array | float, load_factor: Array | float = 1.0) -> Array:
        """Return the true error of the port at an indicated airspeed without indicator error."""
        return self.port.error(np.asarray(vic_mps), np.asarray(load_factor))


def ordinary_flights(
    day: OrdinaryDay, airframes: int, flights_each: int, seed: int
) -> list[OrdinaryAirframe]:
    """Simulate ordinary flights of airframes that are each wrong in their own way."""
    return list(each_ordinary_airframe(day, range(airframes), flights_each, seed))


def each_ordinary_airframe(
    day: OrdinaryDay, numbers: range, flights_each: int, seed: int
) -> Iterator[OrdinaryAirframe]:
    """Simulate the airframes of these numbers of a seed's fleet, some at a time."""
    at_once = max(1, FLIGHTS_AT_ONCE // flights_each)
    for begin in range(0, len(numbers), at_once):
        batch = numbers[begin : begin + at_once]
        drawn = [_Drawn.draw(day, flights_each, seed, number) for number in batch]
        motions = fly_together([one.intended for one in drawn], OWNER)
        for one, motion in zip(drawn, motions, strict=True):
            yield one.recorded(motion)


@dataclass(frozen=True, kw_only=True)
class _Drawn:
    """An airframe, and its flights before they are flown."""

    rng: np.random.Generator
    port: Port
    errors: Errors
    instruments: Instruments
    itineraries: list[Itinerary]
    airs: list[FlightAir]
    heights_m: Array
    intended: Intended

    @classmethod
    def draw(cls, day: OrdinaryDay, flights: int, seed: int, number: int) -> _Drawn:
        rng = np.random.default_rng([seed, number])
        port, errors, instruments = draw_port(rng), draw_errors(rng), draw_instruments(rng)
        heights = np.full(flights, rng.uniform(30.0, 450.0))
        itineraries, airs = [], []
        for own, height in zip(rng.spawn(flights), heights, strict=True):
            # the setting of a day is some 7 hPa about the standard: 60 m
            field_m = float(height + own.normal(0.0, 60.0))
            from_deg = float(own.uniform(0.0, 360.0))
            runway_deg = from_deg + float(own.normal(0.0, 35.0))
            itineraries.append(draw_itinerary(own, field_m, runway_deg))
            airs.append(draw_flight_air(own, day, itineraries[-1], from_deg))
        return cls(
            rng=rng,
            port=port,
            errors=errors,
            instruments=instruments,
            itineraries=itineraries,
            airs=airs,
            heights_m=heights,
            intended=intend(rng, itineraries, airs, OWNER, partial(calibrated, port, errors)),
        )

    def recorded(self, motion: Motion) -> OrdinaryAirframe:
        """Return the airframe with what its instruments make of its flights."""
        humidity = np.array([air.humidity for air in self.airs])
        log = record(
            self.rng,
            self.intended.plan,
            motion,
            self.instruments,
            self.errors.faults(humidity),
            port_error=self.port.error,
        )
        flights = tuple(self._flight(i, motion, log) for i in range(len(self.airs)))
        return OrdinaryAirframe(
            port=self.port, errors=self.errors, instruments=self.instruments, flights=flights
        )

    def _flight(self, i: int, motion: Motion, log: Log) -> OrdinaryFlight:
        itinerary, air = self.itineraries[i], self.airs[i]
        until = len(itinerary.altitude_m)
        seconds = (until + EVERY - 1) // EVERY
        height = self._height(i, motion)[:until]
        truth = {
            name: getattr(motion, name)[i, :until:EVERY].copy()
            for name in ("wind_east_mps", "wind_north_mps", "load_factor", "airspeed_mps")
        }
        above_plan = motion.altitude_m[i, :until] - itinerary.altitude_m
        calm = (air.wind + air.shear * above_plan)[:, ::EVERY]
        return OrdinaryFlight(
            log=OrdinaryLog(
                time_s=log.time_s[:seconds].copy(),
                airspeed_mps=log.airspeed_mps[i, :seconds].copy(),
                altitude_m=log.altitude_m[i, :seconds].copy(),
                temperature_k=log.temperature_k[i, :seconds].copy(),
                east_mps=log.east_mps[i, :seconds].copy(),
                north_mps=log.north_mps[i, :seconds].copy(),
                height_m=self._received(height),
            ),
            truth=OrdinaryTruth(
                **truth,
                kappa=log.kappa[i, :seconds].copy(),
                calm_east_mps=calm[0],
                calm_north_mps=calm[1],
                indicated_mps=log.felt_mps[i, :seconds].copy(),
                altitude_m=motion.altitude_m[i, :until:EVERY].copy(),
                temperature_k=motion.temperature_k[i, :until:EVERY].copy(),
                height_m=height[::EVERY],
            ),
            stretches=itinerary.stretches,
            humidity=air.humidity,
        )

    def _height(self, i: int, motion: Motion) -> Array:
        """Return the height above sea level: that of the field, and of the air between."""
        air, field_m = self.airs[i], self.itineraries[i].field_m
        over = height_over(air.column, air.humidity, motion.altitude_m[i])
        over = over - height_over(air.column, air.humidity, np.array(field_m))
        away = np.cumsum([motion.east_mps[i], motion.north_mps[i]], axis=1) * STEP_S
        time_s = np.arange(over.size) * STEP_S
        return np.asarray(self.heights_m[i] + over + air.slope @ away + air.rise_mps * time_s)

    def _received(self, height: Array) -> Array:
        late = np.maximum(
            np.arange(0, height.size, EVERY) - round(self.instruments.gps_lag_s / STEP_S), 0
        )
        wander = remembering(self.rng, late.shape, GNSS_HEIGHT_M, GNSS_HEIGHT_MEMORY_S, 1.0)
        return np.round((height[late] + wander) / GNSS_HEIGHT_STEP_M) * GNSS_HEIGHT_STEP_M


def calibrated(port: Port, errors: Errors, read_mps: Array) -> Array:
    """Return the airspeed of a port without error that goes with a reading, wings level."""
    indicated = read_mps - errors.airspeed_mps
    felt = atmosphere.dial_impact_pressure(indicated)
    straight = np.ones_like(indicated)
    return atmosphere.dial_speed(felt * (1.0 + port.error(indicated, straight)))
