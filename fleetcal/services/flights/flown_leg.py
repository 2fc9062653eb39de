"""One flown leg: its samples, and what their means say of a whole run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.reading import Readings


@dataclass(frozen=True)
class FlownLeg:
    """One leg in SI units.

    Attributes
    ----------
    start_s, stop_s : float or None
        From the first sample of the log; None when written by hand without time.
    time_s, airspeed_mps, altitude_m, temperature_k, east_mps, north_mps : ndarray, shape (samples,)
        Time, readings and ground vectors; one sample for a leg written by hand.
    recovery_factor : float
    """

    start_s: float | None
    stop_s: float | None
    time_s: Array
    airspeed_mps: Array
    altitude_m: Array
    temperature_k: Array
    east_mps: Array
    north_mps: Array
    recovery_factor: float

    @property
    def samples(self) -> int:
        """Number of samples."""
        return len(self.airspeed_mps)

    @property
    def track_rad(self) -> float:
        """Direction of the mean ground vector, rad from north."""
        return float(np.arctan2(np.nanmean(self.east_mps), np.nanmean(self.north_mps)))


@dataclass(frozen=True)
class RunMeans:
    """Means of each leg of a run, SI, all of shape (legs,)."""

    east_mps: Array
    north_mps: Array
    readings: Readings


def run_means(legs: Sequence[FlownLeg]) -> RunMeans:
    """Return the means of each leg.

    Parameters
    ----------
    legs : sequence of FlownLeg

    Returns
    -------
    RunMeans
    """

    def mean(name: str) -> Array:
        return np.array([float(np.nanmean(getattr(leg, name))) for leg in legs])

    readings = Readings(
        mean("airspeed_mps"),
        mean("altitude_m"),
        mean("temperature_k"),
        np.array([leg.recovery_factor for leg in legs]),
    )
    return RunMeans(mean("east_mps"), mean("north_mps"), readings)
