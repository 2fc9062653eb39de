"""From the legs of one run to a calibration point with its budget."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.budget import (
    Assumptions,
    LegData,
    Term,
    combine,
    run_budget,
    supposed_leg_scatter,
)
from fleetcal.airdata.ground_vectors import bearing_from, largest_track_gap
from fleetcal.airdata.leg_solution import LegSolution, solve_legs
from fleetcal.airdata.reading import Readings, true_airspeed_for
from fleetcal.airdata.run_quality import RunFigures, airspeed_dilution, refusal
from fleetcal.services.flights.corrections_found import corrections_found
from fleetcal.services.flights.flown_leg import FlownLeg, RunMeans, run_means
from fleetcal.services.flights.leg_noise_data import leg_data
from fleetcal.services.flights.listed_legs import solved_legs, unsolved_legs
from fleetcal.services.flights.run_lines import REFUSED, LegLine, RunLine
from fleetcal.units import MPS_PER_KT, from_si, normal_bearing_deg

#: Spare legs that disagree by more than this many times what was supposed make a
#: point that is kept but not accepted.
LARGEST_DISAGREEMENT: Final = 4.0


@dataclass(frozen=True)
class SolvedRun:
    """A run with its legs; `line` is None when it was refused for `reason`."""

    legs: tuple[LegLine, ...]
    line: RunLine | None
    reason: str


def solve_run(
    number: int,
    legs: Sequence[FlownLeg],
    steps: dict[str, float],
    assumptions: Assumptions,
    leg_numbers: Sequence[int] | None = None,
) -> SolvedRun:
    """Solve one run.

    Parameters
    ----------
    number : int
        Of the run within the flight.
    legs : sequence of FlownLeg
        In the order flown.
    steps : dict of str to float
        Smallest step of each logged quantity, SI.
    assumptions : Assumptions
    leg_numbers : sequence of int, optional
        One for each leg; counted from 1 when left out.

    Returns
    -------
    SolvedRun

    Raises
    ------
    OutOfRangeError
        If a reading is outside the range of the pitot-static relations.
    """
    means = run_means(legs)
    solution = solve_legs(means.east_mps[None], means.north_mps[None], _as_rows(means.readings))
    figures = _figures(legs, means, solution)
    numbers = leg_numbers or range(1, len(legs) + 1)
    reason = refusal(figures)
    if reason:
        return SolvedRun(unsolved_legs(number, legs, REFUSED, numbers), None, reason)
    data = leg_data(legs, means, solution, steps)
    terms = run_budget(data, solution, 0, assumptions)
    line = _run_line(number, legs, data, solution, figures, terms, assumptions)
    return SolvedRun(
        solved_legs(number, legs, numbers, means, solution, data.u_mean_mps), line, line.reason
    )


def _as_rows(readings: Readings) -> Readings:
    return Readings(
        readings.airspeed_mps[None],
        readings.altitude_m[None],
        readings.temperature_k[None],
        readings.recovery_factor[None],
    )


def _figures(legs: Sequence[FlownLeg], means: RunMeans, solution: LegSolution) -> RunFigures:
    static, impact = means.readings.pressures()
    _, slope = true_airspeed_for(
        static,
        impact,
        means.readings.temperature_k,
        means.readings.recovery_factor,
        solution.kappa[:1],
    )
    return RunFigures(
        len(legs),
        largest_track_gap(np.arctan2(means.east_mps, means.north_mps)),
        airspeed_dilution(solution.gain[0, 2], float(np.mean(slope))),
        float(solution.kappa[0]),
        float(np.hypot(solution.wind_east_mps[0], solution.wind_north_mps[0])),
        float(solution.true_airspeed_mps[0].mean()),
        bool(solution.converged[0]),
    )


def _run_line(
    number: int,
    legs: Sequence[FlownLeg],
    data: LegData,
    solution: LegSolution,
    figures: RunFigures,
    terms: tuple[Term, ...],
    assumptions: Assumptions,
) -> RunLine:
    u_kappa, freedom = combine(terms)
    vic = float(data.readings.airspeed_mps.mean())
    altitude = float(data.readings.altitude_m.mean())
    spare = len(legs) - 3
    squares = float(np.sum(solution.residual_mps[0] ** 2))
    residual = float(np.sqrt(squares / spare)) if spare > 0 else 0.0  # nothing to judge by
    supposed = supposed_leg_scatter(data, assumptions)
    disagree = residual > LARGEST_DISAGREEMENT * supposed
    reason = (
        f"spare legs disagree by {residual / MPS_PER_KT:.1f} kt where "
        f"{supposed / MPS_PER_KT:.1f} kt is to be expected: the wind changed, or a leg is bad"
        if disagree
        else ""
    )
    wind_from = bearing_from(float(solution.wind_east_mps[0]), float(solution.wind_north_mps[0]))
    static, impact = data.readings.pressures()
    uncorrected, _ = true_airspeed_for(
        static,
        impact,
        data.readings.temperature_k,
        data.readings.recovery_factor,
        np.zeros(1),
    )
    starts = [leg.start_s for leg in legs if leg.start_s is not None]
    stops = [leg.stop_s for leg in legs if leg.stop_s is not None]
    return RunLine(
        run=number,
        vic_kt=from_si(vic, "kt"),
        pressure_altitude_ft=from_si(altitude, "ft"),
        oat_degc=from_si(float(data.readings.temperature_k.mean()), "degC"),
        tas_kt=from_si(figures.true_airspeed_mps, "kt"),
        tas_scale=float(np.mean(solution.true_airspeed_mps[0] / uncorrected)),
        wind_speed_kt=from_si(figures.wind_mps, "kt"),
        wind_from_deg=normal_bearing_deg(wind_from),
        leg_count=len(legs),
        largest_gap_deg=float(np.degrees(figures.largest_gap_rad)),
        residual_kt=from_si(residual, "kt") if spare > 0 else None,
        duration_s=max(stops) - min(starts) if starts and stops else 0.0,
        degrees_of_freedom=freedom,
        accepted=not disagree,
        reason=reason,
        terms=terms,
        **corrections_found(vic, altitude, figures.kappa, u_kappa, freedom),
    )
