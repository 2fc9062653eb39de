"""Uncertainty budget of a manoeuvre that was solved sample by sample.

The terms are those of a run of legs (see `budget`), with the solution's gain
on every sample in place of its gain on every leg.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.budget import Assumptions, Term, instrument_terms
from fleetcal.airdata.manoeuvre_solution import ManoeuvreSolution
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.reading_slopes import reading_slopes
from fleetcal.units import MPS_PER_KT

#: Memory supposed of the error of a satellite velocity, s (common practice, no
#: published source).
GROUND_SPEED_MEMORY_S: Final = 30.0


def manoeuvre_budget(
    time_s: Array,
    readings: Readings,
    solution: ManoeuvreSolution,
    steps: dict[str, float],
    assumptions: Assumptions,
) -> tuple[Term, ...]:
    """Return every uncertainty term of kappa for one solved manoeuvre.

    Args:
        time_s (n,): Of the samples, s.
        readings: Shape (n,).
        steps: Smallest step of each logged quantity, SI. Airspeed, ground speed and track move
            through many steps, so only altitude and temperature leave something behind.
    """
    slopes = reading_slopes(readings, solution.kappa)
    gain = solution.gain
    scatter = float(np.std(solution.residual_mps)) / MPS_PER_KT
    rounding = [
        Term(
            name=f"{quantity} rounding",
            u_kappa=float(gain @ slopes[quantity]) * steps.get(quantity, 0.0) / np.sqrt(12.0),
            owner="point",
            kind="B",
        )
        for quantity in ("altitude", "temperature")
    ]
    return (
        Term(
            name="sample scatter",
            u_kappa=solution.u_kappa,
            owner="point",
            kind="A",
            degrees_of_freedom=solution.degrees_of_freedom,
            note=(f"{scatter:.2f} kt a sample, wind {solution.wind_model}"),
        ),
        *_wind_drift(time_s, solution, assumptions),
        _ground_speed(time_s, solution, assumptions),
        *rounding,
        *instrument_terms(readings, gain, slopes, assumptions),
    )


def _wind_drift(
    time_s: Array, solution: ManoeuvreSolution, assumptions: Assumptions
) -> tuple[Term, ...]:
    """Return the term of an unseen drift; none where the drift was solved for."""
    if "drifting" in solution.wind_model:
        return ()
    since = time_s - time_s.mean()
    effect = (solution.air_direction * (solution.gain * since)).sum(axis=1)
    rate = assumptions.u_wind_drift_mps2 * 600.0 / MPS_PER_KT
    return tuple(
        Term(
            name=f"wind drift {way}",
            u_kappa=float(along * assumptions.u_wind_drift_mps2),
            owner="sortie",
            kind="B",
            note=f"{rate:.2f} kt in ten minutes",
        )
        for way, along in zip(("east", "north"), effect, strict=True)
    )


def _ground_speed(time_s: Array, solution: ManoeuvreSolution, assumptions: Assumptions) -> Term:
    apart = np.abs(time_s[:, None] - time_s[None, :])
    correlation = np.exp(-apart / GROUND_SPEED_MEMORY_S)
    effect = np.sqrt(max(float(solution.gain @ correlation @ solution.gain), 0.0))
    return Term(
        name="ground speed",
        u_kappa=effect * assumptions.u_ground_speed_mps,
        owner="point",
        kind="B",
        note=f"{assumptions.u_ground_speed_mps:.2f} m/s, memory {GROUND_SPEED_MEMORY_S:.0f} s",
    )
