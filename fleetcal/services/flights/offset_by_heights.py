"""A flight's thermometer held against its two heights, and its readings put right by that.

What the heights say is put together with what is supposed of any thermometer (the
uncertainty of the temperature in the settings; 0 there leaves the readings as they are).
The error left is the airframe's, as before: the probe's and the altimeter's lasting errors
are in it. Humidity and recovery factor are terms of their own in the budget, although what
the heights say contains their errors with the opposite sign: that is on the safe side.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, TypeVar

import numpy as np

from fleetcal.airdata.budget import Assumptions
from fleetcal.airdata.heights_flown import HeightDoubts, HeightsFlown
from fleetcal.airdata.instrument_tolerance import altimeter_tolerance, u_or_tolerance
from fleetcal.airdata.thermometer_check import (
    ThermometerCheck,
    check_thermometer,
    clashes,
    combined_offset,
)
from fleetcal.services.bench.bench_corrections import BenchInForce
from fleetcal.services.flights.air_taken import NOBODY, OffsetTaken
from fleetcal.services.flights.checked_flight import CheckedFlight
from fleetcal.services.flights.cut_legs import Recorded, SatelliteHeight
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.read_flight import Flight
from fleetcal.units import M_PER_FT
from fleetcal.wording import decimal

_TO_95: Final = 1.96
_WANDERS_K: Final = 1.0

Shown = TypeVar("Shown", FlownLeg, Recorded)


@dataclass(frozen=True)
class OffsetFound:
    """A flight with its temperatures put right, and what is to say about it."""

    flight: Flight
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


def offset_by_heights(
    checked: CheckedFlight, bench: BenchInForce, assumed: Assumptions
) -> OffsetFound:
    """Hold a flight's thermometer against its two heights, where both are recorded.

    Args:
        checked: With the bench checks that were applied to it.
        assumed: Before any bench check.
    """
    flight = checked.flight
    recorded = flight.recorded
    satellite = recorded.satellite if recorded is not None else None
    if recorded is None or satellite is None or flight.air.noted is not None:
        return OffsetFound(flight)
    assumed = bench.assumptions(checked.kinds, assumed)
    if "altimeter" in checked.kinds:
        altitude = bench.corrected("altimeter", recorded.altitude_m)
        recorded = replace(recorded, altitude_m=altitude)
    if "airspeed" in checked.kinds:
        airspeed = bench.corrected("airspeed", recorded.airspeed_mps)
        recorded = replace(recorded, airspeed_mps=airspeed)
    found = _check(recorded, satellite, flight, assumed)
    if found.reason:
        note = f"The thermometer is not checked by satellite height: {found.reason}."
        return OffsetFound(flight, (note,))
    correction, u = combined_offset(found.offset_k, found.u_k, assumed.u_temperature_k)
    taken = OffsetTaken(
        found_k=found.offset_k,
        u_found_k=found.u_k,
        correction_k=correction,
        u_k=u,
        wander_k=found.wander_k,
        range_m=found.range_m,
    )
    notes = (_note(taken),)
    return OffsetFound(_corrected(flight, taken), notes, _warnings(taken, assumed))


def _check(
    recorded: Recorded, satellite: SatelliteHeight, flight: Flight, assumed: Assumptions
) -> ThermometerCheck:
    speed, track = recorded.ground_speed_mps, recorded.track_rad
    temperature, humidity = flight.air.temperature, flight.air.humidity
    flown = HeightsFlown(
        time_s=recorded.t_s,
        altitude_m=recorded.altitude_m,
        geometric_m=satellite.geometric_m,
        temperature_k=recorded.temperature_k,
        airspeed_mps=recorded.airspeed_mps,
        east_mps=speed * np.sin(track),
        north_mps=speed * np.cos(track),
        relative_humidity=recorded.relative_humidity,
        recovery_factor=temperature.recovery_factor,
        latitude_rad=satellite.latitude_rad,
    )
    tolerance = altimeter_tolerance(recorded.altitude_m)
    doubts = HeightDoubts(
        u_altitude_m=u_or_tolerance(assumed.u_altitude_m, tolerance),
        u_recovery_factor=temperature.u if temperature.recovery_factor > 0.0 else 0.0,
        u_humidity=humidity.u,
        humidity_noted=humidity.source != NOBODY,
        altitude_step_m=flight.steps.get("altitude", 0.0),
        geometric_step_m=satellite.step_m,
    )
    return check_thermometer(flown, doubts)


def _corrected(flight: Flight, taken: OffsetTaken) -> Flight:
    air = replace(flight.air, temperature=replace(flight.air.temperature, offset=taken))

    def cooler(shown: Shown) -> Shown:
        return replace(shown, temperature_k=shown.temperature_k - taken.correction_k)

    recorded = flight.recorded
    return replace(
        flight.changed(cooler),
        air=air,
        recorded=None if recorded is None else replace(cooler(recorded), taken=air),
    )


def _note(taken: OffsetTaken) -> str:
    low, high = (taken.found_k + way * _TO_95 * taken.u_found_k for way in (-1.0, 1.0))
    found = (
        f"The thermometer reads {_off(taken.found_k)} ({_between(low, high)}, at 95 %) against "
        "satellite height and altimeter, by climb and descent through "
        f"{taken.range_m / M_PER_FT:.0f} ft"
    )
    if taken.u_k == 0.0:
        return f"{found}; its readings are left as they are, as the settings call them right."
    done = "taken off" if taken.correction_k >= 0.0 else "added"
    return (
        f"{found}; together with what is supposed of any thermometer, "
        f"{abs(taken.correction_k):.1f} degC is {done} (u {taken.u_k:.1f} degC)."
    )


def _off(offset_k: float) -> str:
    return f"{abs(offset_k):.1f} degC too {'warm' if offset_k >= 0.0 else 'cold'}"


def _between(low: float, high: float) -> str:
    if low >= 0.0 or high <= 0.0:
        near, far = sorted((abs(low), abs(high)))
        return f"{decimal(near)} to {decimal(far)}"
    return f"{decimal(-low)} too cold to {decimal(high)} too warm"


def _warnings(taken: OffsetTaken, assumed: Assumptions) -> tuple[str, ...]:
    found = []
    if clashes(taken.found_k, taken.u_found_k, assumed.u_temperature_k):
        found.append(
            f"the thermometer reads {_off(taken.found_k)}, more than is supposed of one "
            f"(u {assumed.u_temperature_k:.1f} degC): have it checked"
        )
    if taken.wander_k > _WANDERS_K:
        found.append(
            f"the thermometer wanders by some {taken.wander_k:.0f} degC within the flight, as if "
            "warmed by the sun or on the ground"
        )
    return tuple(found)
