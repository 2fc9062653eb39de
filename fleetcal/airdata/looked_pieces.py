"""The pieces of a flight as they look at a supposed wind and supposed kappas.

A gust is in the airspeed and hardly in the ground vector, so it is in what a piece leaves
over and would be in its slope by kappa too. Every piece of a group is therefore given the
slope at the airspeed that was meant, the mean of its group: no gust enters the weights.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.flight_pieces import Pieces
from fleetcal.airdata.moving_wind import Linear
from fleetcal.airdata.reading import Readings

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
class Looked:
    """The pieces as they look at a supposed wind and supposed kappas.

    Attributes:
        over_mps (n,): Mean of |g - w| - Vt, m/s.
        speed_mps (n,): Mean true airspeed, m/s.
        direction (n, 2): Mean unit vector along the air vector.
        slope_mps (n,): True airspeed by kappa, at the meant airspeed.
        scatter_mps: Standard deviation of the samples about the mean of their piece, m/s; NaN where
            every piece is one sample.
        counted (samples,): 1 for each sample that counts, 0 for one that lies too far off.
        across: The same across the heading; None where nobody knows it.
    """

    over_mps: Array
    speed_mps: Array
    direction: Array
    slope_mps: Array
    scatter_mps: float
    counted: Array
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


def look(pieces: Pieces, wind: Array, kappa: Array, counted: Array | None = None) -> Looked:
    """Return how the pieces look at a wind and kappas.

    Args:
        wind (n, 2): East and north at each piece, m/s.
        kappa (groups,): Of each group.
        counted (samples,): As in `Looked`; None to choose.

    Raises:
        OutOfRangeError: If a reading is outside the range of the pitot-static relations.
    """
    of_piece = kappa[pieces.group]
    speed, _ = pieces.readings.true_airspeed(pieces.each(of_piece))
    air_east = pieces.east_mps - pieces.each(wind[:, 0])
    air_north = pieces.north_mps - pieces.each(wind[:, 1])
    length = np.maximum(np.hypot(air_east, air_north), 1e-6)
    over = length - speed
    if counted is None:
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
        counted=counted,
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
    return np.where(far > limit, 0.0, 1.0)  # what is missing counts, and shows


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
