"""A flight whose readings carry the corrections found on the bench."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from fleetcal.services.bench.bench_corrections import BenchInForce
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.read_flight import Flight

# A bench check is of what the pilot reads; another column was made by another instrument.
_READINGS: Final = {"airspeed": "indicated_airspeed", "altimeter": "pressure_altitude"}


@dataclass(frozen=True)
class CheckedFlight:
    """A flight after its bench corrections.

    Attributes:
        kinds: Whose checks were applied, of ``airspeed`` and ``altimeter``.
    """

    flight: Flight
    kinds: tuple[str, ...]
    warnings: tuple[str, ...]


def apply_bench(flight: Flight, bench: BenchInForce) -> CheckedFlight:
    """Add the corrections in force to every reading of a flight.

    Returns:
        A check is not applied to a quantity that the file gives in another form than the instrument
        shows; a warning says so.
    """
    logged = {"airspeed": flight.airspeed_from, "altimeter": flight.altitude_from}
    standing = [kind for kind in logged if bench.check(kind) is not None]
    kinds = tuple(kind for kind in standing if logged[kind] == _READINGS[kind])
    warnings = [
        f"the {kind} check is not applied: the file gives {logged[kind].replace('_', ' ')}, "
        "which is not the reading that was checked"
        for kind in standing
        if kind not in kinds
    ]
    flown = flight.parts
    readings = {
        "airspeed": [part.airspeed_mps for part in flown],
        "altimeter": [part.altitude_m for part in flown],
    }
    beyond = (bench.beyond(kind, readings[kind]) for kind in kinds)
    return CheckedFlight(
        _corrected_flight(flight, bench, kinds),
        kinds,
        (*warnings, *(warning for warning in beyond if warning)),
    )


def _corrected_flight(flight: Flight, bench: BenchInForce, kinds: tuple[str, ...]) -> Flight:
    def corrected(flown: FlownLeg) -> FlownLeg:
        airspeed, altitude = flown.airspeed_mps, flown.altitude_m
        if "airspeed" in kinds:
            airspeed = bench.corrected("airspeed", airspeed)
        if "altimeter" in kinds:
            altitude = bench.corrected("altimeter", altitude)
        return replace(flown, airspeed_mps=airspeed, altitude_m=altitude)

    return flight.changed(corrected)
