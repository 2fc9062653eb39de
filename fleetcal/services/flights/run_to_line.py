"""One solved run as it is listed, with the uncertainty that its sortie lends it."""

from __future__ import annotations

import numpy as np

from fleetcal.airdata.budget import Assumptions, combine, run_budget
from fleetcal.airdata.ground_vectors import bearing_from
from fleetcal.records import GPS_LEGS
from fleetcal.services.flights.corrections_found import corrections_found
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.services.flights.solve_run import RunSolution
from fleetcal.services.flights.sortie_wind import SortieWind
from fleetcal.units import from_si, normal_bearing_deg


def run_to_line(run: RunSolution, wind: SortieWind, assumptions: Assumptions) -> RunLine:
    """Return a solved run as a line.

    Args:
        wind: Of all runs of the flight.
    """
    data, solution, figures = run.data, run.solution, run.figures
    terms = run_budget(data, solution, 0, assumptions, wind.air)
    u_kappa, freedom = combine(terms)
    vic = float(data.readings.airspeed_mps.mean())
    altitude = float(data.readings.altitude_m.mean())
    wind_from = bearing_from(float(solution.wind_east_mps[0]), float(solution.wind_north_mps[0]))
    uncorrected, _ = data.readings.true_airspeed(0.0)
    residual = run.residual_mps
    reason = wind.doubts.get(run.number, "")
    lasted = (
        run.stopped_s - run.started_s
        if run.started_s is not None and run.stopped_s is not None
        else 0.0
    )
    return RunLine(
        number=run.number,
        technique=GPS_LEGS,
        vic_kt=from_si(vic, "kt"),
        pressure_altitude_ft=from_si(altitude, "ft"),
        oat_degc=from_si(float(data.readings.temperature_k.mean()), "degC"),
        tas_kt=from_si(figures.true_airspeed_mps, "kt"),
        tas_scale=float(np.mean(solution.true_airspeed_mps[0] / uncorrected)),
        wind_speed_kt=from_si(figures.wind_mps, "kt"),
        wind_from_deg=normal_bearing_deg(wind_from),
        leg_count=run.leg_count,
        largest_gap_deg=float(np.degrees(figures.largest_gap_rad)),
        residual_kt=from_si(residual, "kt") if residual is not None else None,
        duration_s=lasted,
        accepted=not reason,
        reason=reason,
        terms=terms,
        **corrections_found(vic, altitude, figures.kappa, u_kappa, freedom),
    )
