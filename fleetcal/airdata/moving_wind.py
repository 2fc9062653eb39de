"""Kappa of many groups of pieces of a flight under one wind that moves.

A flight is a list of pieces of some twenty seconds to a minute. Each piece b obeys

    mean over its samples of |g - w_b| = mean of Vt(kappa of its group) + noise,

with one wind for the flight: a random walk in time with a steady drift, and a change with
height. What a piece has of the walk is its mean, which the walk at its two ends tells but for
a little that counts as noise. How strong noise, walk, drift and change with height are is not
known beforehand: see `wind_strengths`. The walk makes the precision of the winds a narrow band,
so the work grows with the length of the flight and no faster. Where the heading is used, the ground
vector across it is the wind's, but for errors of the heading that last all flight.

Estimating wind and a scale of airspeed from ground vectors and pitot by filtering and
smoothing is published practice (A. Cho, J. Kim, S. Lee, C. Kee, IEEE Transactions on
Aerospace and Electronic Systems 47 (2011), from memory); restricted likelihood: D. A.
Harville, JASA 72 (1977).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.walking_wind import Left, WalkingWind

#: Numbers that are worked on at once: so many that a call costs little, few enough for a cache.
_AT_ONCE: Final = 30_000


@dataclass(frozen=True, kw_only=True)
class Strength:
    """How strong everything is that moves, one combination.

    Attributes:
        noise: Factor on the supposed standard deviation of a piece.
        walk_mps2_per_s: Variance of each wind component that comes each second.
        drift_mps2: Standard deviation of its steady drift, m/s per s.
        shear_per_s: Standard deviation of its change with height, m/s per m.
    """

    noise: float
    walk_mps2_per_s: float
    drift_mps2: float
    shear_per_s: float

    @property
    def way(self) -> tuple[float, float]:
        """What the walking winds go by: noise and walk."""
        return self.noise, self.walk_mps2_per_s


@dataclass(frozen=True, kw_only=True)
class Linear:
    """The pieces, linear about a wind and kappas.

    Attributes:
        value (m,): What is measured of wind, kappa and other unknowns together, m/s: one for each
            piece, or two, first all along the air vectors, then all across.
        direction (m, 2): How it goes with each wind component.
        slope (m, groups): How it goes with each kappa, m/s.
        other (m, others): How it goes with each other unknown, whose standard deviations are
            `u_other`.
        supposed (m,): Supposed standard deviation of its noise, m/s.
        least_noise (m,): Factor on that at least, whatever the strength of the noise.
        time_s, height_m (n,): In order of time.
        lasting_s (n,): Duration of each piece, s.
    """

    value: Array
    direction: Array
    slope: Array
    supposed: Array
    time_s: Array
    height_m: Array
    lasting_s: Array
    other: Array
    u_other: Array
    least_noise: Array

    def along_times(self, values: Array) -> Array:
        """Return for each value what each piece has, (n, ...) to (m, ...)."""
        return np.concatenate([values] * (len(self.value) // len(self.time_s)))


@dataclass(frozen=True, kw_only=True)
class Fit:
    """The answer for one combination of strengths.

    Attributes:
        score: Log of the restricted likelihood, but for a constant.
        kappa (groups,), covariance (groups, groups): As estimated.
        other (others,): The other unknowns.
        gain (groups, m): kappa moves by gain @ change when the values change.
        wind (n, 2): At each piece, m/s.
        squares: Weighted sum of squares that is left; of `free` degrees of freedom.
    """

    score: float
    kappa: Array
    covariance: Array
    other: Array
    gain: Array
    wind: Array
    squares: float


@dataclass(frozen=True, kw_only=True)
class Fits:
    """The answers for k combinations: as in `Fit`, each with k first in its shape."""

    score: Array
    kappa: Array
    covariance: Array
    other: Array
    gain: Array
    wind: Array
    squares: Array


@dataclass(frozen=True, kw_only=True)
class _Solved:
    """The unknowns but the winds, of k combinations.

    Attributes:
        left: What the walking winds leave, by ways.
        way (k,): Which of them each combination has.
        factor (k, unknowns, unknowns): Cholesky factor of the inverse of their covariance.
        met (k, unknowns): The part of the value that they meet, through the factor.
    """

    left: Left
    way: npt.NDArray[np.int64]
    factor: Array
    met: Array
    squares: Array
    score: Array


class Winds:
    """Fits the pieces of a flight for any strengths."""

    def __init__(self, pieces: Linear) -> None:
        self.pieces = pieces
        since = pieces.time_s - pieces.time_s.mean()
        above = pieces.height_m - pieces.height_m.mean()
        # how drift and each step of height move the wind at each piece
        self._moving = np.column_stack([since, *_ramps(above)])
        moved = [pieces.direction * pieces.along_times(c)[:, None] for c in self._moving.T]
        columns = np.column_stack([pieces.value, pieces.slope, pieces.other, *moved])
        self._size = columns.size
        self._walking = WalkingWind(
            np.ascontiguousarray(columns.T), pieces.direction, pieces.time_s, pieces.lasting_s
        )
        self._height_step_m = _step_of(above)

    @property
    def free(self) -> int:
        """Values beyond the kappas and one wind."""
        return len(self.pieces.value) - int(self.pieces.slope.shape[1]) - 2

    def scores(self, strengths: Sequence[Strength]) -> Array:
        """Return the score of each combination alone, which takes less than its fit."""
        return np.concatenate([self._solved(part).score for part in self._parts(strengths)])

    def squares(self, strengths: Sequence[Strength]) -> Array:
        """Return the squares of each combination alone, which takes less than its fit."""
        return np.concatenate([self._solved(part).squares for part in self._parts(strengths)])

    def fit(self, strength: Strength) -> Fit:
        """Return the answer for one combination of strengths."""
        found = self.fits([strength])
        return Fit(
            score=float(found.score[0]),
            kappa=found.kappa[0],
            covariance=found.covariance[0],
            other=found.other[0],
            gain=found.gain[0],
            wind=found.wind[0],
            squares=float(found.squares[0]),
        )

    def fits(self, strengths: Sequence[Strength]) -> Fits:
        """Return the answer for each of many combinations of strengths."""
        parts = [self._fits(part) for part in self._parts(strengths)]
        if len(parts) == 1:
            return parts[0]
        return Fits(
            **{
                name: np.concatenate([getattr(part, name) for part in parts])
                for name in Fits.__dataclass_fields__
            }
        )

    def _parts(self, strengths: Sequence[Strength]) -> Iterator[Sequence[Strength]]:
        """Yield as many combinations at a time as fit into a cache, all of one way together."""
        most = max(_AT_ONCE // self._size, 1)
        part: list[Strength] = []
        ways: set[tuple[float, float]] = set()
        for one in strengths:
            if one.way not in ways and len(ways) == most:
                yield part
                part, ways = [], set()
            part.append(one)
            ways.add(one.way)
        yield part

    def _fits(self, strengths: Sequence[Strength]) -> Fits:
        solved = self._solved(strengths)
        left, way = solved.left, solved.way
        groups, others = self.pieces.slope.shape[1], self._others
        half = np.linalg.inv(solved.factor)
        across = half.transpose(0, 2, 1)
        covariance = across @ half
        unknown = (across @ solved.met[:, :, None])[:, :, 0]
        ways, columns, count = len(left.noise), left.inner.shape[1], len(self.pieces.time_s)
        winds = self._walking.at_pieces(left)
        carried = winds.reshape(ways, columns, 2 * count)
        wind = carried[way, 0] - (unknown[:, None, :] @ carried[way, 1:])[:, 0]
        moving = self._moving @ unknown[:, others:].reshape(len(way), -1, 2)
        return Fits(
            score=solved.score,
            kappa=unknown[:, :groups],
            covariance=covariance[:, :groups, :groups],
            gain=covariance[:, :groups] @ self._walking.precision_times(left, winds)[way, 1:],
            other=unknown[:, groups:others],
            wind=wind.reshape(len(way), count, 2) + moving,
            squares=solved.squares,
        )

    @property
    def _others(self) -> int:
        return int(self.pieces.slope.shape[1] + self.pieces.other.shape[1])

    def _solved(self, strengths: Sequence[Strength]) -> _Solved:
        """Return the unknowns but the winds, and the scores."""
        ways = list(dict.fromkeys(one.way for one in strengths))
        place = {way: number for number, way in enumerate(ways)}
        way = np.array([place[one.way] for one in strengths])
        left = self._left(*np.array(ways).T)
        prior = self._prior(strengths)
        normal = left.inner[way, 1:, 1:]
        diagonal = np.arange(prior.shape[1])
        normal[:, diagonal, diagonal] += prior
        factor = np.asarray(np.linalg.cholesky(normal), np.float64)
        met = np.asarray(np.linalg.solve(factor, left.inner[way, 1:, :1])[:, :, 0], np.float64)
        squares = left.inner[way, 0, 0] - (met**2).sum(axis=1)
        log_det = left.log_det[way] + 2.0 * np.log(factor[:, diagonal, diagonal]).sum(axis=1)
        log_det -= np.log(prior[:, self.pieces.slope.shape[1] :]).sum(axis=1)
        score = -0.5 * (log_det + squares)
        return _Solved(left=left, way=way, factor=factor, met=met, squares=squares, score=score)

    def _left(self, noise_factor: Array, walk: Array) -> Left:
        """Return what noise and walk leave; the other strengths change nothing here."""
        pieces = self.pieces
        noise = np.maximum(noise_factor[:, None], pieces.least_noise) * pieces.supposed
        lasting = pieces.along_times(pieces.lasting_s)
        return self._walking.left(noise**2 + walk[:, None] * lasting / 12.0, walk)

    def _prior(self, strengths: Sequence[Strength]) -> Array:
        """Return one over the variance of each unknown but the winds, (k, unknowns)."""
        groups, others = self.pieces.slope.shape[1], self._others
        drift = np.array([one.drift_mps2 for one in strengths])
        shear = np.array([one.shear_per_s for one in strengths])
        prior = np.zeros((len(strengths), others + 2 * self._moving.shape[1]))
        prior[:, groups:others] = 1.0 / self.pieces.u_other**2
        prior[:, others : others + 2] = 1.0 / drift[:, None] ** 2
        prior[:, others + 2 :] = 1.0 / (shear[:, None] ** 2 * self._height_step_m**2 + 1e-12)
        return prior


#: The wind changes with height in steps of about this, m; over less than the other not at all.
_STEP_M: Final = 300.0
_LEAST_SPAN_M: Final = 30.0


def _step_of(above: Array) -> float:
    span = float(np.ptp(above))
    return span / max(round(span / _STEP_M), 1) if span > _LEAST_SPAN_M else 1.0


def _ramps(above: Array) -> list[Array]:
    """Return what rises from 0 to 1 over each step of height."""
    span = float(np.ptp(above))
    if span <= _LEAST_SPAN_M:
        return []
    step = _step_of(above)
    low = above.min()
    count = max(round(span / step), 1)
    return [np.clip((above - low) / step - i, 0.0, 1.0) - 0.5 for i in range(count)]
