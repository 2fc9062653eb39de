"""A flight cut into pieces: short means of its samples, each with one wind.

A gust is in the airspeed and hardly in the ground vector, so it is in what a piece leaves
over and would be in its slope by kappa too. Every piece of a group is therefore given the
slope at the airspeed that was meant, the mean of its group: no gust enters the weights.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.moving_wind import Linear
from fleetcal.airdata.reading import Readings

#: Length of a piece: long beside the memory of gusts, short beside that of the wind, s.
PIECE_S: Final = 30.0
#: Memory supposed of turbulence as a light aircraft feels it, s: length scales of 200 to 500 m
#: at 50 m/s (common practice, no published source).
GUST_MEMORY_S: Final = 7.0
#: Scatter of a reading taken once by eye in place of a mean, of airspeed (common practice, no
#: published source).
READ_ONCE: Final = 0.008
#: A sample further from the middle of its piece than so many median distances is not counted:
#: six standard deviations where gusts are normally distributed.
_FAR: Final = 9.0
_LEAST_SCATTER_MPS: Final = 0.1
#: Standard deviations of a heading's error, rad: an offset (magnetic north as well), and what
#: goes as its sine and cosine (deviation of a compass; common practice, no published source).
U_HEADING_RAD: Final = np.radians([30.0, 3.0, 3.0])
#: What a heading wanders and an aircraft slips for minutes, rad (1 degree, likewise).
U_SIDEWAYS_RAD: Final = float(np.radians(1.0))


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


@dataclass(frozen=True, kw_only=True)
class Looked:
    """The pieces as they look at a supposed wind and supposed kappas.

    Attributes:
        over_mps (n,): Mean of |g - w| - Vt, m/s.
        speed_mps (n,): Mean true airspeed, m/s.
        direction (n, 2): Mean unit vector along the air vector.
        slope_mps (n,): True airspeed by kappa, at the meant airspeed.
        scatter_mps: Standard deviation of the samples about the mean of their piece, m/s; NaN where
            every piece is one sample.
        across: The same across the heading; None where nobody knows it.
    """

    over_mps: Array
    speed_mps: Array
    direction: Array
    slope_mps: Array
    scatter_mps: float
    across: Across | None = None

    def linear(self, pieces: Pieces, wind: Array, kappa: Array, supposed: Array) -> Linear:
        """Return the pieces, linear about the wind (n, 2) and the kappas (groups,)."""
        slope = np.zeros((len(self.over_mps), pieces.groups))
        slope[np.arange(len(slope)), pieces.group] = self.slope_mps
        value = self.over_mps + (self.direction * wind).sum(axis=1) + slope @ kappa
        none = np.zeros_like(value)
        found = Linear(
            value=value,
            direction=self.direction,
            slope=slope,
            supposed=supposed,
            time_s=pieces.time_s,
            height_m=pieces.height_m,
            lasting_s=pieces.lasting_s,
            other=np.zeros((len(value), 0)),
            u_other=np.zeros(0),
            least_noise=none,
        )
        return found if self.across is None else self.across.joined(found)


@dataclass(frozen=True, kw_only=True)
class Across:
    """What the heading says: across it the aircraft moves with the wind alone.

    Attributes:
        value_mps (n,): Mean of the ground vector across the heading, m/s.
        direction (n, 2): Mean unit vector to the right of the heading.
        error_mps (n, 3): How it goes with an offset of the heading and with its errors as sine and
            cosine of it, m/s per rad.
        supposed_mps (n,): Supposed standard deviation of its noise, m/s.
    """

    value_mps: Array
    direction: Array
    error_mps: Array
    supposed_mps: Array

    def joined(self, along: Linear) -> Linear:
        """Return the pieces with this below what is measured along the air vectors."""
        none = np.zeros_like(self.value_mps)
        return replace(
            along,
            value=np.concatenate([along.value, self.value_mps]),
            direction=np.concatenate([along.direction, self.direction]),
            slope=np.concatenate([along.slope, np.zeros_like(along.slope)]),
            supposed=np.concatenate([along.supposed, self.supposed_mps]),
            other=np.concatenate([np.zeros_like(self.error_mps), self.error_mps]),
            u_other=U_HEADING_RAD,
            least_noise=np.concatenate([along.least_noise, none + 1.0]),
        )


def look(pieces: Pieces, wind: Array, kappa: Array) -> Looked:
    """Return how the pieces look at a wind and kappas.

    Args:
        wind (n, 2): East and north at each piece, m/s.
        kappa (groups,): Of each group.

    Raises:
        OutOfRangeError: If a reading is outside the range of the pitot-static relations.
    """
    of_piece = kappa[pieces.group]
    speed, _ = pieces.readings.true_airspeed(pieces.each(of_piece))
    air_east = pieces.east_mps - pieces.each(wind[:, 0])
    air_north = pieces.north_mps - pieces.each(wind[:, 1])
    length = np.maximum(np.hypot(air_east, air_north), 1e-6)
    over = length - speed
    counted = _not_far(pieces, over)
    number = pieces.mean(counted)
    mean = pieces.mean(over * counted) / number
    spare = float(counted.sum()) - len(mean)
    square = float(counted @ (over - pieces.each(mean)) ** 2)
    return Looked(
        over_mps=mean,
        speed_mps=pieces.mean(speed),
        direction=np.column_stack(
            [pieces.mean(air_east / length), pieces.mean(air_north / length)]
        ),
        slope_mps=_meant_slope(pieces, of_piece),
        scatter_mps=float(np.sqrt(square / spare)) if spare > 0 else np.nan,
        across=None if pieces.heading_rad is None else _across(pieces, pieces.heading_rad, speed),
    )


def _across(pieces: Pieces, heading: Array, speed: Array) -> Across:
    right = np.cos(heading), -np.sin(heading)
    moved = pieces.east_mps * right[0] + pieces.north_mps * right[1]
    value = pieces.mean(moved)
    scatter = pieces.mean((moved - pieces.each(value)) ** 2)
    slow = U_SIDEWAYS_RAD * pieces.mean(speed)
    return Across(
        value_mps=value,
        direction=np.column_stack([pieces.mean(right[0]), pieces.mean(right[1])]),
        error_mps=np.column_stack(
            [
                pieces.mean(speed),
                pieces.mean(speed * np.sin(heading)),
                pieces.mean(speed * np.cos(heading)),
            ]
        ),
        supposed_mps=np.sqrt(scatter / 4.0 + slow**2),
    )


def _not_far(pieces: Pieces, over: Array) -> Array:
    """Return 1 for each sample, but 0 for one that lies far from the middle of its piece.

    A value that jumped or was held counts nowhere near as much as its size.
    """
    order = np.lexsort((over, np.repeat(pieces.first, pieces.samples)))
    middle = over[order[pieces.first + (pieces.samples - 1) // 2]]  # of a sample, which counts
    far = np.abs(over - pieces.each(middle))
    limit = _FAR * max(float(np.median(far)), _LEAST_SCATTER_MPS)
    return np.asarray(far <= limit, dtype=np.float64)


def _meant_slope(pieces: Pieces, kappa: Array) -> Array:
    means = pieces.mean_readings()
    meant = pieces.of_group(means.airspeed_mps)[pieces.group]
    at_meant = Readings(
        airspeed_mps=meant,
        altitude_m=means.altitude_m,
        temperature_k=means.temperature_k,
        recovery_factor=means.recovery_factor,
        relative_humidity=means.relative_humidity,
    )
    return at_meant.true_airspeed(kappa)[1]


def supposed_scatter(pieces: Pieces, looked: Looked, least_mps: float) -> Array:
    """Return the scatter to expect of each piece, by that of the samples within the pieces.

    Args:
        least_mps: What the ground speed leaves at least, m/s.

    Returns:
        Standard deviation, m/s, shape (n,).
    """
    ratio = np.maximum(pieces.lasting_s, 1e-3) / GUST_MEMORY_S
    share = 2.0 / ratio * (1.0 + np.expm1(-ratio) / ratio)  # of a gust, left in the mean
    moved = 0.0 if np.isnan(looked.scatter_mps) else looked.scatter_mps
    several = pieces.samples > 1
    within = float(np.mean(1.0 - share[several])) if np.any(several) else 1.0
    gust = moved**2 / max(within, 0.05)
    scatter = np.where(several, gust * share, (READ_ONCE * looked.speed_mps) ** 2)
    return np.asarray(np.sqrt(scatter + least_mps**2))
