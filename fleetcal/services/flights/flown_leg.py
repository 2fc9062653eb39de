"""One flown leg: its samples."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.flight_pieces import Stretch
from fleetcal.airdata.reading import Readings


@dataclass(frozen=True, kw_only=True)
class FlownLeg:
    """One leg in SI units.

    Attributes:
        start_s, stop_s: From the first sample of the log; None when written by hand without time.
        time_s, airspeed_mps, altitude_m, temperature_k, east_mps, north_mps (samples,): Time,
            readings and ground vectors; one sample for a leg written by hand.
        relative_humidity (samples,): Of the air, 1 at saturation.
        heading_rad (samples,): Where it is to be used.
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
    relative_humidity: Array
    heading_rad: Array | None = None

    @property
    def readings(self) -> Readings:
        """The samples as readings."""
        return Readings(
            airspeed_mps=self.airspeed_mps,
            altitude_m=self.altitude_m,
            temperature_k=self.temperature_k,
            recovery_factor=np.full_like(self.airspeed_mps, self.recovery_factor),
            relative_humidity=self.relative_humidity,
        )

    @property
    def samples(self) -> int:
        """Number of samples."""
        return len(self.airspeed_mps)

    @property
    def track_rad(self) -> float:
        """Direction of the mean ground vector, rad from north."""
        return float(np.arctan2(np.nanmean(self.east_mps), np.nanmean(self.north_mps)))

    def stretch(self, group: int) -> Stretch:
        """Return it as a stretch of a flight.

        Args:
            group: Which kappa it has, from 0.
        """
        return Stretch(
            group=group,
            time_s=self.time_s,
            east_mps=self.east_mps,
            north_mps=self.north_mps,
            readings=self.readings,
            heading_rad=self.heading_rad,
        )


@dataclass(frozen=True)
class RunMeans:
    """Means of each leg of a run, SI, all of shape (legs,)."""

    east_mps: Array
    north_mps: Array
    readings: Readings


def run_means(legs: Sequence[FlownLeg]) -> RunMeans:
    """Return the means of each leg."""

    def mean(name: str) -> Array:
        return np.array([float(np.nanmean(getattr(leg, name))) for leg in legs])

    readings = Readings(
        airspeed_mps=mean("airspeed_mps"),
        altitude_m=mean("altitude_m"),
        temperature_k=mean("temperature_k"),
        recovery_factor=np.array([leg.recovery_factor for leg in legs]),
        relative_humidity=mean("relative_humidity"),
    )
    return RunMeans(mean("east_mps"), mean("north_mps"), readings)
