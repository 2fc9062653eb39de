"""Flown legs as lines of a list, in the trade's units."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fleetcal.services.flights.flown_leg import FlownLeg, RunMeans, run_means
from fleetcal.services.flights.run_lines import SOLVED, LegLine
from fleetcal.services.flights.solve_run import leg_residuals
from fleetcal.services.flights.sortie_wind import PlacedRun
from fleetcal.units import from_si, normal_bearing_deg


def solved_legs(placed: PlacedRun) -> tuple[LegLine, ...]:
    """Return the legs of a solved run as they are listed; none where it was solved without."""
    run, flight = placed.run, placed.flight
    if not run.has_legs:
        return ()
    means = run_means(run.legs)
    residuals = leg_residuals(flight, placed.first, len(run.legs))
    lines = []
    for i, leg in enumerate(run.legs):
        own = flight.pieces.stretch == placed.first + i
        share = flight.pieces.samples[own] / flight.pieces.samples[own].sum()
        lines.append(
            _leg_line(
                run.number,
                run.leg_numbers[i],
                leg,
                means=means,
                i=i,
                outcome=SOLVED,
                tas_kt=from_si(float(share @ flight.looked.speed_mps[own]), "kt"),
                # three legs by themselves are met exactly, whatever they read
                residual_kt=from_si(residuals[i], "kt") if run.spare > 0 else None,
                u_kt=from_si(float(np.linalg.norm(share * flight.scatter_mps[own])), "kt"),
            )
        )
    return tuple(lines)


def _leg_line(
    number: int,
    leg_number: int,
    leg: FlownLeg,
    means: RunMeans,
    i: int,
    outcome: str,
    tas_kt: float,
    residual_kt: float | None,
    u_kt: float,
) -> LegLine:
    return LegLine(
        run_number=number,
        leg_number=leg_number,
        start_s=leg.start_s,
        stop_s=leg.stop_s,
        samples=leg.samples,
        vic_kt=from_si(float(means.readings.airspeed_mps[i]), "kt"),
        pressure_altitude_ft=from_si(float(means.readings.altitude_m[i]), "ft"),
        oat_degc=from_si(float(means.readings.temperature_k[i]), "degC"),
        ground_speed_kt=from_si(float(np.hypot(means.east_mps[i], means.north_mps[i])), "kt"),
        track_deg=normal_bearing_deg(leg.track_rad),
        ground_east_kt=from_si(float(means.east_mps[i]), "kt"),
        ground_north_kt=from_si(float(means.north_mps[i]), "kt"),
        recovery_factor=leg.recovery_factor,
        humidity_pct=from_si(float(means.readings.relative_humidity[i]), "%"),
        tas_kt=tas_kt,
        residual_kt=residual_kt,
        u_kt=u_kt,
        outcome=outcome,
    )


def unsolved_legs(
    number: int, legs: Sequence[FlownLeg], outcome: str, leg_numbers: Sequence[int]
) -> tuple[LegLine, ...]:
    """Return legs as they are listed without having been solved.

    Args:
        number: Of the run within the flight.
        outcome: What became of them.
        leg_numbers: One for each leg.
    """
    if not legs:
        return ()
    means = run_means(legs)
    return tuple(
        _leg_line(
            number,
            leg_numbers[i],
            leg,
            means=means,
            i=i,
            outcome=outcome,
            tas_kt=np.nan,
            residual_kt=None,
            u_kt=np.nan,
        )
        for i, leg in enumerate(legs)
    )
