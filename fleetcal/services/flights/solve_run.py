"""From the legs of one run to a calibration point with its budget."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.budget import LegData
from fleetcal.airdata.ground_vectors import largest_track_gap
from fleetcal.airdata.leg_solution import LegSolution, solve_legs
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.run_quality import RunFigures, airspeed_dilution, refusal
from fleetcal.services.flights.flown_leg import FlownLeg, RunMeans, run_means, straightened
from fleetcal.services.flights.leg_noise_data import leg_data
from fleetcal.services.flights.listed_legs import solved_legs, unsolved_legs
from fleetcal.services.flights.run_lines import REFUSED, LegLine

_ROUNDS: Final = 2


@dataclass(frozen=True, kw_only=True)
class RunSolution:
    """The wind and kappa of one run, and what its uncertainty needs to know.

    Attributes:
        number: Within the flight.
        solution: Of this one run.
        started_s, stopped_s: From the first sample of the log; None where no times were written.
    """

    number: int
    data: LegData
    solution: LegSolution
    figures: RunFigures
    started_s: float | None
    stopped_s: float | None

    @property
    def leg_count(self) -> int:
        """Number of legs."""
        return len(self.data.east_mps)

    @property
    def residual_mps(self) -> float | None:
        """Root of the mean square a spare leg; None where there is none."""
        spare = self.leg_count - 3
        if spare <= 0:
            return None
        return float(np.sqrt(np.sum(self.solution.residual_mps[0] ** 2) / spare))


@dataclass(frozen=True)
class SolvedRun:
    """A run with its legs; `solution` is None when it was refused for `reason`."""

    legs: tuple[LegLine, ...]
    solution: RunSolution | None
    reason: str


def solve_run(
    number: int,
    legs: Sequence[FlownLeg],
    steps: dict[str, float],
    leg_numbers: Sequence[int] | None = None,
) -> SolvedRun:
    """Solve one run for its wind and kappa.

    Args:
        number: Of the run within the flight.
        legs: In the order flown.
        steps: Smallest step of each logged quantity, SI.
        leg_numbers: One for each leg; counted from 1 when left out.

    Raises:
        OutOfRangeError: If a reading is outside the range of the pitot-static relations.
    """
    means, solution = _solved(legs)
    figures = _figures(legs, means, solution)
    numbers = leg_numbers or range(1, len(legs) + 1)
    reason = refusal(figures)
    if reason:
        return SolvedRun(unsolved_legs(number, legs, REFUSED, numbers), None, reason)
    data = leg_data(legs, means, solution, steps)
    starts = [leg.start_s for leg in legs if leg.start_s is not None]
    stops = [leg.stop_s for leg in legs if leg.stop_s is not None]
    timed = len(starts) == len(stops) == len(legs)
    found = RunSolution(
        number=number,
        data=data,
        solution=solution,
        figures=figures,
        started_s=min(starts) if timed else None,
        stopped_s=max(stops) if timed else None,
    )
    return SolvedRun(
        solved_legs(
            number, legs, numbers, means=means, solution=solution, u_mean_mps=data.u_mean_mps
        ),
        found,
        "",
    )


def _solved(legs: Sequence[FlownLeg]) -> tuple[RunMeans, LegSolution]:
    """Solve by mean ground vectors, then twice by the mean way through the air at that wind."""
    means = plain = run_means(legs)
    readings = _as_rows(plain.readings)
    solution = solve_legs(plain.east_mps[None], plain.north_mps[None], readings)
    for _ in range(_ROUNDS if bool(solution.converged[0]) else 0):
        wind = float(solution.wind_east_mps[0]), float(solution.wind_north_mps[0])
        means = straightened(plain, legs, *wind)
        solution = solve_legs(means.east_mps[None], means.north_mps[None], readings)
    return means, solution


def _as_rows(readings: Readings) -> Readings:
    return Readings(
        airspeed_mps=readings.airspeed_mps[None],
        altitude_m=readings.altitude_m[None],
        temperature_k=readings.temperature_k[None],
        recovery_factor=readings.recovery_factor[None],
        relative_humidity=readings.relative_humidity[None],
    )


def _figures(legs: Sequence[FlownLeg], means: RunMeans, solution: LegSolution) -> RunFigures:
    _, slope = means.readings.true_airspeed(solution.kappa[:1])
    return RunFigures(
        legs=len(legs),
        largest_gap_rad=largest_track_gap(np.arctan2(means.east_mps, means.north_mps)),
        dilution=airspeed_dilution(solution.gain[0, 2], float(np.mean(slope))),
        kappa=float(solution.kappa[0]),
        wind_mps=float(np.hypot(solution.wind_east_mps[0], solution.wind_north_mps[0])),
        true_airspeed_mps=float(solution.true_airspeed_mps[0].mean()),
        converged=bool(solution.converged[0]),
    )
