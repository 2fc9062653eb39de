"""The samples of a log and the steady legs in it, as displayed, before anything is solved."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.services.flights.cut_legs import Recorded
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.read_flight import Flight, read_flight
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.understand_log import LogUnderstanding
from fleetcal.units import from_si
from fleetcal.wording import counted


@dataclass(frozen=True, kw_only=True)
class FoundLeg:
    """A steady leg with the means of what was displayed.

    Attributes:
        start_s, stop_s: From the first sample; None for a leg written by hand without times.
        refusal: Why its run cannot be solved; empty if it can.
    """

    run: int
    leg: int
    start_s: float | None
    stop_s: float | None
    samples: int
    airspeed_kt: float
    pressure_altitude_ft: float
    oat_degc: float
    ground_speed_kt: float
    track_deg: float
    refusal: str


@dataclass(frozen=True)
class FlownSamples:
    """What was flown.

    Attributes:
        samples (mapping of str to (n,)): Of a log by name, with the unit in it.
        sentences: What was found.
    """

    samples: Mapping[str, Array]
    legs: tuple[FoundLeg, ...]
    sentences: tuple[str, ...]


def flown_samples(
    path: Path, understood: LogUnderstanding, mapping: Path | None = None
) -> FlownSamples:
    """Return samples and legs of a log; none of one that cannot be reduced as it is.

    Args:
        understood: Of the same log.
    """
    if understood.lacking:
        return FlownSamples({}, (), ())
    flight = read_flight(path, ReductionSettings(), mapping=mapping)
    legs = tuple(_legs(flight))
    samples = {} if flight.recorded is None else _samples(flight.recorded)
    return FlownSamples(samples, legs, (_found(flight),))


def _found(flight: Flight) -> str:
    if not flight.leg_count:
        return "No steady leg was found: a flight without legs can be solved in its entirety."
    solvable = sum(not run.refusal for run in flight.runs)
    return (
        f"{counted(flight.leg_count, 'steady leg')}, in {counted(len(flight.runs), 'run')}, of "
        f"which {solvable} can be solved."
    )


def _samples(recorded: Recorded) -> dict[str, Array]:
    return {
        "time_s": recorded.t_s,
        "airspeed_kt": from_si(recorded.airspeed_mps, "kt"),
        "pressure_altitude_ft": from_si(recorded.altitude_m, "ft"),
        "oat_degc": from_si(recorded.temperature_k, "degC"),
        "ground_speed_kt": from_si(recorded.ground_speed_mps, "kt"),
        "track_deg": np.degrees(recorded.track_rad) % 360.0,
    }


def _legs(flight: Flight) -> Iterator[FoundLeg]:
    for place, run in enumerate(flight.runs, 1):
        for number, leg in enumerate(run.legs, 1):
            yield _leg(run.number or place, number, leg, run.refusal)


def _leg(run: int, number: int, leg: FlownLeg, refusal: str) -> FoundLeg:
    speed = float(np.hypot(np.nanmean(leg.east_mps), np.nanmean(leg.north_mps)))
    return FoundLeg(
        run=run,
        leg=number,
        start_s=leg.start_s,
        stop_s=leg.stop_s,
        samples=leg.samples,
        airspeed_kt=_mean(leg.airspeed_mps, "kt"),
        pressure_altitude_ft=_mean(leg.altitude_m, "ft"),
        oat_degc=_mean(leg.temperature_k, "degC"),
        ground_speed_kt=float(from_si(np.asarray(speed), "kt")),
        track_deg=float(np.degrees(leg.track_rad) % 360.0),
        refusal=refusal,
    )


def _mean(values: Array, unit: str) -> float:
    return float(from_si(np.asarray(np.nanmean(values)), unit))
