"""Kappa of many runs at once, each by itself in a steady wind, from the means of its legs.

|g - w| = Vt(kappa) for each leg, by least squares: a first look at thousands of runs for
the time of one, where how the wind moved and how sure the answer is are not wanted.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.reading import Readings

_ROUNDS: Final = 25
_SETTLED: Final = 1e-9
#: Sine squared below which the legs do not tell wind and kappa apart.
_SMALLEST_SINE_SQUARED: Final = 1e-10


def steady_kappas(
    run: npt.NDArray[np.int64], east_mps: Array, north_mps: Array, readings: Readings
) -> Array:
    """Return the kappa of each run.

    Args:
        run (legs,): Whose leg it is; every number from 0 on has one.
        east_mps, north_mps (legs,): Mean ground vectors.
        readings: Means, shape (legs,).

    Returns:
        Shape (runs,): NaN where the legs do not tell it, or no answer settles.

    Raises:
        OutOfRangeError: If a reading is outside the range of the pitot-static relations.
    """
    runs = int(run.max()) + 1 if len(run) else 0

    def summed(values: Array) -> Array:
        return np.asarray(np.bincount(run, values, runs), dtype=np.float64)

    legs = summed(np.ones(len(run)))
    unknown = np.column_stack([summed(east_mps) / legs, summed(north_mps) / legs, np.zeros(runs)])
    moved = np.full(runs, np.inf)
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        for _ in range(_ROUNDS):
            wind, kappa = unknown[run, :2], unknown[run, 2]
            speed, slope = readings.true_airspeed(kappa)
            air = np.column_stack([east_mps, north_mps]) - wind
            length = np.hypot(air[:, 0], air[:, 1])
            columns = [air[:, 0] / length, air[:, 1] / length, slope]  # less the residual's slope
            over = length - speed
            normal = np.stack([summed(a * b) for a in columns for b in columns], axis=1)
            right = np.stack([summed(a * over) for a in columns], axis=1)
            step = _solved(normal.reshape(-1, 3, 3), right)
            unknown = unknown + step
            moved = np.abs(step[:, 2])
            if not np.any(moved > _SETTLED):
                break
    return np.where(moved <= _SETTLED, unknown[:, 2], np.nan)


def _solved(normal: Array, right: Array) -> Array:
    """Return the steps of all runs; NaN where the legs do not tell them."""
    length = np.sqrt(np.einsum("rii->ri", normal))
    scaled = normal / (length[:, :, None] * length[:, None, :])
    finite = np.isfinite(scaled).all(axis=(1, 2))
    scaled[~finite] = np.eye(3)
    good = finite & (np.linalg.det(scaled) > _SMALLEST_SINE_SQUARED)
    scaled[~good] = np.eye(3)
    step = np.linalg.solve(scaled, (right / length)[:, :, None])[:, :, 0] / length
    step[~good] = np.nan
    return np.asarray(step)
