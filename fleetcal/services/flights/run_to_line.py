"""One solved run, manoeuvre or airspeed of a flight as it is listed."""

from __future__ import annotations

from typing import Any

import numpy as np

from fleetcal.airdata.atmosphere import GRAVITY_MPS2, Array
from fleetcal.airdata.budget import Assumptions, combine, group_budget
from fleetcal.airdata.ground_vectors import bearing_from
from fleetcal.services.flights.corrections_found import corrections_found
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.services.flights.solve_run import Run, leg_residuals, spare_residual
from fleetcal.services.flights.sortie_wind import PlacedRun
from fleetcal.units import from_si, normal_bearing_deg


def run_to_line(
    placed: PlacedRun, reason: str, steps: dict[str, float], assumptions: Assumptions
) -> RunLine:
    """Return a solved run as a line.

    Args:
        reason: Why it is not accepted; empty if it is.
        steps: Smallest step of each logged quantity, SI.
    """
    run, flight, group = placed.run, placed.flight, placed.group
    terms = group_budget(flight, group, steps, assumptions)
    u_kappa, freedom = combine(terms)
    kappa = float(flight.kappa[group])
    means = {
        name: _mean_of_legs(run, name) for name in ("airspeed_mps", "altitude_m", "temperature_k")
    }
    of_legs = _of_legs(placed)
    wind = _mean(placed, flight.wind_mps[:, 0]), _mean(placed, flight.wind_mps[:, 1])
    return RunLine(
        number=run.number,
        technique=run.technique,
        vic_kt=from_si(means["airspeed_mps"], "kt"),
        pressure_altitude_ft=from_si(means["altitude_m"], "ft"),
        oat_degc=from_si(means["temperature_k"], "degC"),
        tas_kt=from_si(_mean(placed, flight.looked.speed_mps), "kt"),
        tas_scale=_scale(placed, kappa),
        wind_speed_kt=from_si(float(np.hypot(*wind)), "kt"),
        wind_from_deg=normal_bearing_deg(bearing_from(*wind)),
        leg_count=len(run.legs) if run.has_legs else None,
        largest_gap_deg=float(np.degrees(run.track_gap_rad())),
        duration_s=_duration(run),
        accepted=not reason,
        reason=reason,
        terms=terms,
        **of_legs,
        **corrections_found(means["airspeed_mps"], means["altitude_m"], kappa, u_kappa, freedom),
    )


def _of_legs(placed: PlacedRun) -> dict[str, Any]:
    """Return the residual of the legs, or of each half minute without legs, and the load factor."""
    if not placed.run.has_legs:
        over = placed.flight.looked.over_mps[placed.flight.pieces.group == placed.group]
        legs = placed.run.legs
        loads = [load_factor(leg, placed) for leg in legs]
        return {
            "residual_kt": from_si(float(np.sqrt(np.mean(over**2))), "kt"),
            "load_factor": float(np.average(loads, weights=[leg.samples for leg in legs])),
        }
    residual = spare_residual(leg_residuals(placed.flight, placed.first, len(placed.run.legs)))
    return {"residual_kt": from_si(residual, "kt") if residual is not None else None}


def _mean_of_legs(run: Run, name: str) -> float:
    """Return the mean over legs, each counting the same; over stretches by their samples."""
    weights = None if run.has_legs else [leg.samples for leg in run.legs]
    means = [np.nanmean(getattr(leg, name)) for leg in run.legs]
    return float(np.average(means, weights=weights))


def _duration(run: Run) -> float:
    """Return the time from the first leg to the end of the last, or of all stretches together."""
    started, stopped = run.started_s, run.stopped_s
    if started is None or stopped is None:
        return 0.0
    if run.has_legs:
        return stopped - started
    return float(sum(leg.time_s[-1] - leg.time_s[0] for leg in run.legs))


def _mean(placed: PlacedRun, values: Array) -> float:
    """Return the mean over the pieces of the legs, weighed as `_mean_of_legs` does."""
    pieces = placed.flight.pieces
    means = []
    for place in range(placed.first, placed.first + len(placed.run.legs)):
        own = pieces.stretch == place
        means.append(float(np.average(values[own], weights=pieces.samples[own])))
    weights = None if placed.run.has_legs else [leg.samples for leg in placed.run.legs]
    return float(np.average(means, weights=weights))


def _scale(placed: PlacedRun, kappa: float) -> float:
    """Return by how much kappa changes the true airspeed."""
    scales = []
    for leg in placed.run.legs:
        corrected, _ = leg.readings.true_airspeed(kappa)
        uncorrected, _ = leg.readings.true_airspeed(0.0)
        scales.append(float(np.mean(corrected / uncorrected)))
    return float(np.mean(scales))


def load_factor(turning: FlownLeg, placed: PlacedRun) -> float:
    """Return the mean load factor of level turning: sqrt(1 + (V omega / g)^2).

    The turn rate is that of the air vector over about ten seconds, so that noise
    of single samples does not pass for turning.
    """
    time_s = turning.time_s
    east, north = (_mean(placed, placed.flight.wind_mps[:, axis]) for axis in (0, 1))
    air = np.stack([turning.east_mps - east, turning.north_mps - north])
    heading = np.unwrap(np.arctan2(air[0], air[1]))
    ends = np.minimum(np.searchsorted(time_s, time_s + 10.0), len(time_s) - 1)
    lasting = time_s[ends] - time_s
    long_enough = lasting >= 5.0
    rate = (heading[ends] - heading)[long_enough] / lasting[long_enough]
    bend = np.hypot(air[0], air[1])[long_enough] * rate / GRAVITY_MPS2
    return float(np.mean(np.sqrt(1.0 + bend**2)))
