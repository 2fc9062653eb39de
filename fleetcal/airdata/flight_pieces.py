"""A flight cut into pieces: short means of its samples, each with one wind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.reading import Readings

#: Length of a piece: long beside the memory of gusts, short beside that of the wind, s.
PIECE_S: Final = 30.0
#: Legs are supposed to be flown one each minute and a half where nobody wrote their times, s.
LEG_EVERY_S: Final = 90.0


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Samples one after the other, flown at one meant airspeed.

    Attributes:
        group: Which kappa they share, from 0.
        time_s (samples,): On one clock for the flight, s.
        east_mps, north_mps (samples,): Ground vectors, m/s.
        readings: Shape (samples,).
        heading_rad (samples,): Where the nose points, from any north; None where nobody knows.
    """

    group: int
    time_s: Array
    east_mps: Array
    north_mps: Array
    readings: Readings
    heading_rad: Array | None = None


@dataclass(frozen=True, kw_only=True)
class Pieces:
    """The pieces of a flight in order of time.

    Attributes:
        group, stretch (n,): Which kappa a piece has, and which of the given stretches it is of.
        first (n,): Place of its first sample.
        samples (n,): Their number.
        time_s, height_m, lasting_s (n,): Middle, mean pressure altitude and duration.
        east_mps, north_mps (samples,): Of every sample.
        readings: Shape (samples,).
        heading_rad (samples,): None where any stretch has none.
    """

    group: npt.NDArray[np.int64]
    stretch: npt.NDArray[np.int64]
    first: npt.NDArray[np.int64]
    samples: npt.NDArray[np.int64]
    time_s: Array
    height_m: Array
    lasting_s: Array
    east_mps: Array
    north_mps: Array
    readings: Readings
    heading_rad: Array | None = None

    @property
    def groups(self) -> int:
        """Number of kappas."""
        return int(self.group.max()) + 1

    def mean(self, values: Array) -> Array:
        """Return the mean of each piece, shape (n,), of something that each sample has."""
        return np.asarray(np.add.reduceat(values, self.first) / self.samples)

    def each(self, values: Array) -> Array:
        """Return for each sample what its piece has."""
        return np.repeat(values, self.samples, axis=0)

    def mean_readings(self) -> Readings:
        """Return the mean readings of each piece."""
        shape = self.east_mps.shape
        return Readings(
            airspeed_mps=self.mean(self.readings.airspeed_mps),
            altitude_m=self.mean(self.readings.altitude_m),
            temperature_k=self.mean(self.readings.temperature_k),
            recovery_factor=self.mean(np.broadcast_to(self.readings.recovery_factor, shape)),
            relative_humidity=self.mean(np.broadcast_to(self.readings.relative_humidity, shape)),
        )

    def of_group(self, values: Array) -> Array:
        """Return the mean over the pieces of each group, weighed by their samples."""
        weighed = np.bincount(self.group, values * self.samples, self.groups)
        return np.asarray(weighed / np.bincount(self.group, self.samples, self.groups))


def cut(stretches: Sequence[Stretch]) -> Pieces:
    """Cut stretches into pieces of about half a minute.

    Args:
        stretches: At least one; every group from 0 on has one.
    """
    order = sorted(range(len(stretches)), key=lambda i: float(stretches[i].time_s[0]))
    parts = [(i, part) for i in order for part in _parts(stretches[i].time_s)]
    samples = np.array([part.stop - part.start for _, part in parts])
    ends = np.cumsum(samples)

    def cast(name: str) -> Array:
        values = [np.broadcast_to(getattr(s.readings, name), s.time_s.shape) for s in stretches]
        return np.concatenate([values[i][part] for i, part in parts])

    def joined(name: str) -> Array:
        return np.concatenate([getattr(stretches[i], name)[part] for i, part in parts])

    readings = Readings(
        airspeed_mps=cast("airspeed_mps"),
        altitude_m=cast("altitude_m"),
        temperature_k=cast("temperature_k"),
        recovery_factor=cast("recovery_factor"),
        relative_humidity=cast("relative_humidity"),
    )
    first = ends - samples
    with_heading = all(stretch.heading_rad is not None for stretch in stretches)
    time = joined("time_s")
    return Pieces(
        group=np.array([stretches[i].group for i, _ in parts]),
        stretch=np.array([i for i, _ in parts]),
        first=first,
        samples=samples,
        time_s=np.add.reduceat(time, first) / samples,
        height_m=np.add.reduceat(readings.altitude_m, first) / samples,
        lasting_s=time[ends - 1] - time[first],
        east_mps=joined("east_mps"),
        north_mps=joined("north_mps"),
        readings=readings,
        heading_rad=joined("heading_rad") if with_heading else None,
    )


def _parts(time_s: Array) -> list[slice]:
    lasting = float(time_s[-1] - time_s[0])
    count = min(max(round(lasting / PIECE_S), 1), len(time_s))
    edges = np.searchsorted(time_s, time_s[0] + lasting * np.arange(1, count) / count)
    bounds = [0, *(int(edge) for edge in edges), len(time_s)]
    return [slice(a, b) for a, b in pairwise(bounds) if b > a]
