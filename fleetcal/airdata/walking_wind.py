"""The part of a wind that walks at random, taken out of the pieces of a flight.

The unknowns are the winds at both ends of each piece, in order of time: east and north at the
first end, east and north at the second, and so on. Their precision is a band of three diagonals
below the main one. Many combinations of noise and walk ("ways") are worked on at once, since
calls take longer than what is worked out for one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.linalg.lapack import dpbtrf, dtbtrs

from fleetcal.airdata.atmosphere import Array

#: So little that a wind may be known by itself, (m/s)^-2; it makes the first wind proper.
_DIFFUSE: Final = 1e-8
#: Times closer than this count as so far apart, s.
_SHORTEST_S: Final = 0.5


@dataclass(frozen=True, kw_only=True)
class Left:
    """What the walking winds leave of the columns, for each of some ways.

    Attributes:
        noise (ways, m): Variance of each value, (m/s)^2.
        weighed (ways, columns, m): The columns over that.
        root (ways, 4 n, 4): Cholesky factor of the precision of the winds, by diagonals.
        pushed (ways, columns, 4 n): What the columns push the winds by, over that factor.
        inner (ways, columns, columns): Products of the columns, weighed with the winds unknown.
        log_det (ways,): Log of the determinant of the covariance that is made by noise and walk.
    """

    noise: Array
    weighed: Array
    root: Array
    pushed: Array
    inner: Array
    log_det: Array


class WalkingWind:
    """Takes the walking winds out of columns that a flight has a value of at each piece."""

    def __init__(self, columns: Array, direction: Array, time_s: Array, lasting_s: Array) -> None:
        """Keep what is the same for all ways.

        Args:
            columns (columns, m): Each value and what it depends on.
            direction (m, 2): How it goes with each wind component.
            time_s, lasting_s (n,): Middle and duration of each piece.
        """
        self._columns = columns
        self._half = direction.T / 2.0
        half = lasting_s / 2.0
        ends = np.column_stack([time_s - half, time_s + half]).ravel()
        self._per_walk = 1.0 / np.maximum(np.diff(ends), _SHORTEST_S)
        self._pieces = len(time_s)

    def left(self, noise: Array, walk: Array) -> Left:
        """Return what is left.

        Args:
            noise (ways, m): Variance of each value, (m/s)^2.
            walk (ways,): Variance of each wind component that comes each second.
        """
        root, held = self._band(noise, walk)
        weighed = self._columns / noise[:, None, :]
        pushed = self._onto_ends(weighed)
        for way in range(len(noise)):
            # both are laid out as LAPACK has them, so that nothing need be copied
            factor, failed = dpbtrf(root[way].T, lower=1, overwrite_ab=1)
            if failed:
                raise np.linalg.LinAlgError("the precision of the winds is not positive definite")
            root[way] = factor.T
            pushed[way] = dtbtrs(factor, pushed[way].T, uplo="L", overwrite_b=1)[0].T
        log_det = 2.0 * np.log(root[:, :, 0]).sum(axis=1) - 2.0 * np.log(held).sum(axis=1)
        return Left(
            noise=noise,
            weighed=weighed,
            root=root,
            pushed=pushed,
            inner=weighed @ self._columns.T - pushed @ pushed.transpose(0, 2, 1),
            log_det=log_det + np.log(noise).sum(axis=1),
        )

    def at_pieces(self, left: Left) -> Array:
        """Return the winds that the columns are carried by, shape (ways, columns, n, 2)."""
        carried = np.empty_like(left.pushed)
        for way in range(len(carried)):
            carried[way] = dtbtrs(left.root[way].T, left.pushed[way].T, uplo="L", trans="T")[0].T
        ends = carried.reshape(*carried.shape[:2], self._pieces, 2, 2)
        return np.asarray(ends.mean(axis=3))

    def precision_times(self, left: Left, winds: Array) -> Array:
        """Return the columns times the inverse of their covariance, shape (ways, columns, m).

        Args:
            winds: From `at_pieces`.
        """
        times = self._half.shape[1] // self._pieces
        taken = sum(2.0 * self._half[axis] * np.tile(winds[..., axis], times) for axis in (0, 1))
        return np.asarray(left.weighed - taken / left.noise[:, None, :])

    def _band(self, noise: Array, walk: Array) -> tuple[Array, Array]:
        """Return the precision of the winds by diagonals, (ways, 4 n, 4), and that of each step."""
        held = np.maximum(self._per_walk / walk[:, None], 1e-12)
        count = self._pieces
        band = np.zeros((len(noise), 4 * count, 4))
        for axis in (0, 1):
            seen = self._by_piece(self._half[axis] ** 2 / noise)
            own = np.repeat(seen, 2, axis=1)
            own[:, :-1] += held
            own[:, 1:] += held
            own[:, 0] += _DIFFUSE
            band[:, axis::2, 0] = own
            band[:, axis : 4 * count - 2 : 2, 2] = -held
            band[:, axis::4, 2] += seen
        crossed = self._by_piece(self._half[0] * self._half[1] / noise)
        band[:, 0::4, 1] = band[:, 1::4, 1] = band[:, 2::4, 1] = band[:, 0::4, 3] = crossed
        return band, held

    def _onto_ends(self, columns: Array) -> Array:
        """Return what the columns (ways, columns, m) push the wind at each end of a piece by."""
        pushed = np.empty((*columns.shape[:2], 4 * self._pieces))
        for axis in (0, 1):
            seen = self._by_piece(self._half[axis] * columns)
            pushed[..., axis::4] = pushed[..., axis + 2 :: 4] = seen
        return pushed

    def _by_piece(self, values: Array) -> Array:
        """Return the sum over all that is measured at each piece, (..., m) to (..., n)."""
        if values.shape[-1] == self._pieces:
            return values
        return np.asarray(values.reshape(*values.shape[:-1], -1, self._pieces).sum(axis=-2))
