"""Flown legs as lines of a list, in the trade's units."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.leg_solution import LegSolution
from fleetcal.services.flights.flown_leg import FlownLeg, RunMeans, run_means
from fleetcal.services.flights.run_lines import SOLVED, LegLine
from fleetcal.units import from_si, normal_bearing_deg


def solved_legs(
    number: int,
    legs: Sequence[FlownLeg],
    leg_numbers: Sequence[int],
    means: RunMeans,
    solution: LegSolution,
    u_mean_mps: Array,
) -> tuple[LegLine, ...]:
    """Return the legs of a solved run as they are listed.

    Args:
        number: Of the run within the flight.
        leg_numbers: One for each leg.
        means: Of these legs.
        solution: Of one run.
        u_mean_mps: Shape (legs,).
    """
    spare = len(legs) > 3  # three legs are met exactly, whatever they read
    return tuple(
        _leg_line(
            number,
            leg_numbers[i],
            leg,
            means,
            i,
            SOLVED,
            from_si(float(solution.true_airspeed_mps[0, i]), "kt"),
            from_si(float(solution.residual_mps[0, i]), "kt") if spare else None,
            from_si(float(u_mean_mps[i]), "kt"),
        )
        for i, leg in enumerate(legs)
    )


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
        number,
        leg_number,
        leg.start_s,
        leg.stop_s,
        leg.samples,
        from_si(float(means.readings.airspeed_mps[i]), "kt"),
        from_si(float(means.readings.altitude_m[i]), "ft"),
        from_si(float(means.readings.temperature_k[i]), "degC"),
        from_si(float(np.hypot(means.east_mps[i], means.north_mps[i])), "kt"),
        normal_bearing_deg(leg.track_rad),
        from_si(float(means.east_mps[i]), "kt"),
        from_si(float(means.north_mps[i]), "kt"),
        leg.recovery_factor,
        from_si(float(means.readings.relative_humidity[i]), "%"),
        tas_kt,
        residual_kt,
        u_kt,
        outcome,
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
        _leg_line(number, leg_numbers[i], leg, means, i, outcome, np.nan, None, np.nan)
        for i, leg in enumerate(legs)
    )
