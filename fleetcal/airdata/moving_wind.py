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

from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from scipy.linalg import cho_factor, cho_solve, cho_solve_banded, cholesky_banded

from fleetcal.airdata.atmosphere import Array

#: So little that a wind may be known by itself, (m/s)^-2; it makes the first wind proper.
_DIFFUSE: Final = 1e-8
#: Times closer than this count as so far apart, s.
_SHORTEST_S: Final = 0.5


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


class _Seen(NamedTuple):
    """The pieces after the walking winds have taken their part, for one noise and walk."""

    noise: Array
    weighed: Array
    carried: Array
    inner: Array
    log_det: float


class _Solved(NamedTuple):
    seen: _Seen
    factor: tuple[Array, bool]
    unknown: Array
    squares: float
    score: float


class Winds:
    """Fits the pieces of a flight for any strengths."""

    def __init__(self, pieces: Linear) -> None:
        self.pieces = pieces
        since = pieces.time_s - pieces.time_s.mean()
        above = pieces.height_m - pieces.height_m.mean()
        # how drift and each step of height move the wind at each piece
        self._moving = np.column_stack([since, *_ramps(above)])
        self._border = np.column_stack(
            [
                pieces.slope,
                pieces.other,
                *(
                    pieces.direction * pieces.along_times(column)[:, None]
                    for column in self._moving.T
                ),
            ]
        )
        self._height_step_m = _step_of(above)
        half = pieces.lasting_s / 2.0
        ends = np.column_stack([pieces.time_s - half, pieces.time_s + half]).ravel()
        self._per_walk = 1.0 / np.maximum(np.diff(ends), _SHORTEST_S)
        self._kept: tuple[tuple[float, float], _Seen] | None = None

    @property
    def free(self) -> int:
        """Values beyond the kappas and one wind."""
        return len(self.pieces.value) - int(self.pieces.slope.shape[1]) - 2

    def score(self, strength: Strength) -> float:
        """Return the score of `fit` alone, which takes less."""
        return self._solved(strength).score

    def fit(self, strength: Strength) -> Fit:
        """Return the answer for one combination of strengths."""
        solved = self._solved(strength)
        seen, unknown = solved.seen, solved.unknown
        groups = self.pieces.slope.shape[1]
        covariance = cho_solve(solved.factor, np.eye(len(unknown)), check_finite=False)
        # V^-1 X: what the border's columns weigh after the winds have taken their part
        left = seen.weighed[:, 1:] - self._from_winds(seen.carried[:, 1:]) / seen.noise[:, None]
        wind = (seen.carried[:, 0] - seen.carried[:, 1:] @ unknown).reshape(-1, 2, 2).mean(axis=1)
        others = self._others
        return Fit(
            score=solved.score,
            kappa=unknown[:groups],
            covariance=covariance[:groups, :groups],
            gain=covariance[:groups] @ left.T,
            other=unknown[groups:others],
            wind=wind + self._moving @ unknown[others:].reshape(-1, 2),
            squares=solved.squares,
        )

    @property
    def _others(self) -> int:
        return int(self.pieces.slope.shape[1] + self.pieces.other.shape[1])

    def _solved(self, strength: Strength) -> _Solved:
        """Return the unknowns but the winds, and the score."""
        pieces, others = self.pieces, self._others
        seen = self._seen_with(strength.noise, strength.walk_mps2_per_s)
        prior = np.zeros(self._border.shape[1])
        prior[pieces.slope.shape[1] : others] = 1.0 / pieces.u_other**2
        prior[others : others + 2] = 1.0 / strength.drift_mps2**2
        prior[others + 2 :] = 1.0 / (strength.shear_per_s**2 * self._height_step_m**2 + 1e-12)
        normal = seen.inner[1:, 1:] + np.diag(prior)
        factor = cho_factor(normal, lower=True, check_finite=False)
        unknown = cho_solve(factor, seen.inner[1:, 0], check_finite=False)
        squares = float(seen.inner[0, 0] - seen.inner[1:, 0] @ unknown)
        log_det = seen.log_det + 2.0 * float(np.log(np.diag(factor[0])).sum())
        log_det -= float(np.log(prior[pieces.slope.shape[1] :]).sum())
        return _Solved(seen, factor, unknown, squares, -0.5 * (log_det + squares))

    def _seen_with(self, noise_factor: float, walk: float) -> _Seen:
        """Return what noise and walk leave; the other strengths change nothing here."""
        if self._kept is None or self._kept[0] != (noise_factor, walk):
            self._kept = (noise_factor, walk), self._see(noise_factor, walk)
        return self._kept[1]

    def _see(self, noise_factor: float, walk: float) -> _Seen:
        pieces = self.pieces
        noise = (np.maximum(noise_factor, pieces.least_noise) * pieces.supposed) ** 2
        noise = noise + walk * pieces.along_times(pieces.lasting_s) / 12.0
        root, log_det = self._root(noise, walk)
        known = np.column_stack([pieces.value, self._border])
        weighed = known / noise[:, None]
        pushed = self._onto_winds(weighed)
        carried = cho_solve_banded((root, True), pushed, check_finite=False)
        return _Seen(
            noise=noise,
            weighed=weighed,
            carried=carried,
            inner=known.T @ weighed - pushed.T @ carried,
            log_det=log_det + float(np.log(noise).sum()),
        )

    def _root(self, noise: Array, walk: float) -> tuple[Array, float]:
        """Return the banded Cholesky factor of the winds' precision, and log determinants.

        The determinant is of that precision over the one before the pieces are looked at.
        """
        half = self._by_piece(self.pieces.direction) / 2.0
        noise = self._by_piece(noise)
        held = np.maximum(self._per_walk / walk, 1e-12)
        count = len(self.pieces.time_s)
        band = np.zeros((4, 4 * count))
        for axis in (0, 1):
            seen = (half[:, :, axis] ** 2 / noise).sum(axis=0)
            own = np.repeat(seen, 2)
            own[:-1] += held
            own[1:] += held
            own[0] += _DIFFUSE
            band[0, axis::2] = own
            band[2, axis : 4 * count - 2 : 2] = -held
            band[2, axis::4] += seen
        crossed = (half[:, :, 0] * half[:, :, 1] / noise).sum(axis=0)
        band[1, 0::4] = band[1, 1::4] = band[1, 2::4] = crossed
        band[3, 0::4] = crossed
        root = cholesky_banded(band, lower=True, check_finite=False)
        log_det = 2.0 * float(np.log(root[0]).sum()) - 2.0 * float(np.log(held).sum())
        return root, log_det

    def _onto_winds(self, columns: Array) -> Array:
        """Return D' columns, shape (4 n, columns)."""
        half = self._by_piece(self.pieces.direction) / 2.0
        both = self._by_piece(columns)
        pushed = np.empty((4 * both.shape[1], both.shape[2]))
        for axis in (0, 1):
            seen = (half[:, :, axis, None] * both).sum(axis=0)
            pushed[axis::4] = pushed[axis + 2 :: 4] = seen
        return pushed

    def _from_winds(self, columns: Array) -> Array:
        """Return D columns, shape (m, columns)."""
        half = self.pieces.direction / 2.0
        east, north = (columns[axis::4] + columns[axis + 2 :: 4] for axis in (0, 1))
        return np.asarray(
            half[:, :1] * self.pieces.along_times(east)
            + half[:, 1:] * self.pieces.along_times(north)
        )

    def _by_piece(self, values: Array) -> Array:
        """Return values (m, ...) as (m / n, n, ...)."""
        return values.reshape(-1, len(self.pieces.time_s), *values.shape[1:])


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
