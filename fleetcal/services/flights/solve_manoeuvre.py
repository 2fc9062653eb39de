"""From the samples of one manoeuvre to a calibration point with its budget."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.atmosphere import GRAVITY_MPS2, Array
from fleetcal.airdata.budget import Assumptions, Term, combine
from fleetcal.airdata.ground_vectors import bearing_from, largest_track_gap
from fleetcal.airdata.manoeuvre_budget import manoeuvre_budget
from fleetcal.airdata.manoeuvre_solution import ManoeuvreSolution, solve_manoeuvre
from fleetcal.airdata.reading import Readings
from fleetcal.records import GPS_MANOEUVRE, LARGEST_KAPPA
from fleetcal.services.flights.corrections_found import corrections_found
from fleetcal.services.flights.manoeuvre_doubt import manoeuvre_doubt
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.units import from_si, normal_bearing_deg


@dataclass(frozen=True, kw_only=True)
class FlownManoeuvre:
    """Samples of one manoeuvre, SI, all of shape (n,).

    Attributes:
        time_s: From the first sample of the log.
        relative_humidity: Of the air, 1 at saturation.
    """

    time_s: Array
    airspeed_mps: Array
    altitude_m: Array
    temperature_k: Array
    east_mps: Array
    north_mps: Array
    recovery_factor: float
    relative_humidity: Array


@dataclass(frozen=True)
class SolvedManoeuvre:
    """A manoeuvre; `line` is None when it was refused for `reason`."""

    line: RunLine | None
    reason: str


def solve_flown_manoeuvre(
    number: int, flown: FlownManoeuvre, steps: dict[str, float], assumptions: Assumptions
) -> SolvedManoeuvre:
    """Solve one manoeuvre.

    Args:
        number: Within the flight.
        steps: Smallest step of each logged quantity, SI.

    Raises:
        OutOfRangeError: If a reading is outside the range of the pitot-static relations.
    """
    readings = Readings(
        airspeed_mps=flown.airspeed_mps,
        altitude_m=flown.altitude_m,
        temperature_k=flown.temperature_k,
        recovery_factor=np.full_like(flown.airspeed_mps, flown.recovery_factor),
        relative_humidity=flown.relative_humidity,
    )
    solution = solve_manoeuvre(flown.time_s, flown.east_mps, flown.north_mps, readings)
    reason = _refusal(solution)
    if reason:
        return SolvedManoeuvre(None, reason)
    terms = manoeuvre_budget(flown.time_s, readings, solution, steps, assumptions)
    doubt = manoeuvre_doubt(flown.time_s, flown.east_mps, flown.north_mps, readings, solution)
    return SolvedManoeuvre(
        _line(number, flown, readings, solution=solution, terms=terms, doubt=doubt), ""
    )


def _line(
    number: int,
    flown: FlownManoeuvre,
    readings: Readings,
    solution: ManoeuvreSolution,
    terms: tuple[Term, ...],
    doubt: str,
) -> RunLine:
    u_kappa, freedom = combine(terms)
    vic, altitude = float(flown.airspeed_mps.mean()), float(flown.altitude_m.mean())
    wind = (solution.wind_east_mps, solution.wind_north_mps)
    return RunLine(
        number=number,
        technique=GPS_MANOEUVRE,
        vic_kt=from_si(vic, "kt"),
        pressure_altitude_ft=from_si(altitude, "ft"),
        oat_degc=from_si(float(flown.temperature_k.mean()), "degC"),
        tas_kt=from_si(float(solution.true_airspeed_mps.mean()), "kt"),
        tas_scale=_scale(readings, solution),
        wind_speed_kt=from_si(float(np.hypot(*wind)), "kt"),
        wind_from_deg=normal_bearing_deg(bearing_from(*wind)),
        leg_count=None,
        largest_gap_deg=float(
            np.degrees(largest_track_gap(np.arctan2(flown.east_mps, flown.north_mps)))
        ),
        residual_kt=from_si(float(np.std(solution.residual_mps)), "kt"),
        duration_s=float(flown.time_s[-1] - flown.time_s[0]),
        accepted=not doubt,
        reason=doubt,
        terms=terms,
        load_factor=_load_factor(flown.time_s, solution),
        **corrections_found(vic, altitude, solution.kappa, u_kappa, freedom),
    )


def _refusal(solution: ManoeuvreSolution) -> str:
    if not solution.converged:
        return "the ground vectors do not determine wind and airspeed"
    wind = np.hypot(solution.wind_east_mps, solution.wind_north_mps)
    if wind >= solution.true_airspeed_mps.mean():
        return "the solved wind is stronger than the airspeed"
    if abs(solution.kappa) > LARGEST_KAPPA:
        scale = np.sqrt(1.0 + max(solution.kappa, -0.99))
        return (
            f"airspeeds would be wrong by a factor of {scale:.2f}, which no static port does: "
            "wrong unit or wrong column"
        )
    return ""


def _scale(readings: Readings, solution: ManoeuvreSolution) -> float:
    uncorrected, _ = readings.true_airspeed(0.0)
    return float(np.mean(solution.true_airspeed_mps / uncorrected))


def _load_factor(time_s: Array, solution: ManoeuvreSolution) -> float:
    """Return the mean load factor of level turning: sqrt(1 + (V omega / g)^2).

    The turn rate is that of the air vector over about ten seconds, so that noise
    of single samples does not pass for turning.
    """
    heading = np.unwrap(np.arctan2(solution.air_direction[0], solution.air_direction[1]))
    ends = np.minimum(np.searchsorted(time_s, time_s + 10.0), len(time_s) - 1)
    lasting = time_s[ends] - time_s
    long_enough = lasting >= 5.0
    rate = (heading[ends] - heading)[long_enough] / lasting[long_enough]
    turning = solution.true_airspeed_mps[long_enough] * rate / GRAVITY_MPS2
    return float(np.mean(np.sqrt(1.0 + turning**2)))
