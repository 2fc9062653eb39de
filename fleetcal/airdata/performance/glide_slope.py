"""Drag against lift from glides, for carrying climbs to another weight.

At one airspeed the thrust is the same at every weight, so what a climb would do at
another weight differs from what it did only by the drag of the other lift; glides of the
same engine and propeller tell that difference, and no figure for the thrust is needed.
With s = (Vs/V)^2 W/Wref and y = s R/V, thrust V = W R + drag V at both weights gives

    y(at Wref) = y(as flown) + g(s at Wref) - g(s as flown),

g being y of the glides. Source: the equation of steady climb and glide.

Carried at one lift coefficient instead, thrust power is needed at another airspeed, where
only its growth is known: at 85 % of reference weight the best rate was then 1.3 kt too fast
(`python -m tests.fleet.simulations.carried_weight`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import FitError

#: How far beyond the lift of the glides a parabolic polar is trusted, as a factor.
_BEYOND: Final = 1.2
#: Least ratio of the largest to the smallest lift that tells a parabola.
_LEAST_REACH: Final = 1.5
_FEWEST_SPARE: Final = 1


@dataclass(frozen=True)
class GlideSlope:
    """How y of glides goes with s, but for a level.

    Attributes:
        coefficients (2,): Of s and s^2.
        covariance: Shape (2, 2).
        lowest, highest: s that was flown.
    """

    coefficients: Array
    covariance: Array
    lowest: float
    highest: float

    def covers(self, lift: npt.ArrayLike) -> npt.NDArray[np.bool_]:
        """Tell whether each s lies within reach of the glides, same shape."""
        s = np.asarray(lift, dtype=np.float64)
        return np.asarray((s >= self.lowest / _BEYOND) & (s <= self.highest * _BEYOND))

    def change(self, start: npt.ArrayLike, end: npt.ArrayLike) -> tuple[Array, Array]:
        """Return g(end) - g(start) and its standard uncertainty.

        Args:
            start, end (same shape): s, without unit.

        Returns:
            Same shape.
        """
        first, last = (np.asarray(s, dtype=np.float64) for s in (start, end))
        rows = np.stack([last - first, last**2 - first**2], axis=-1)
        u = np.sqrt(np.einsum("...i,ij,...j->...", rows, self.covariance, rows))
        return np.asarray(rows @ self.coefficients), np.asarray(u)


def fit_glide_slope(
    lift: npt.ArrayLike, coefficient: npt.ArrayLike, u: npt.ArrayLike, series: npt.ArrayLike
) -> GlideSlope:
    """Fit a parabola with one slope and bend, and a level of its own for each series.

    Args:
        lift, coefficient, u (n,): s, y and the standard uncertainty of y.
        series (n,): Which glides share a level: those of one aircraft with one state of the engine.

    Returns:
        Its covariance is widened by how much the glides scatter beyond `u`.

    Raises:
        FitError: If the glides are too few, or too much alike, to tell a parabola.
    """
    s, y, sd = (np.asarray(column, dtype=np.float64) for column in (lift, coefficient, u))
    names, which = np.unique(np.asarray(series), return_inverse=True)
    spare = len(s) - len(names) - 2
    if spare < _FEWEST_SPARE or s.max() < _LEAST_REACH * s.min():
        raise FitError(
            "the glides are too few or too similar to show how drag changes with lift",
            "fly glides over the airspeeds of the climbs",
        )
    columns = np.column_stack([s, s**2, np.eye(len(names))[which]]) / sd[:, None]
    if np.linalg.matrix_rank(columns) < columns.shape[1]:
        raise FitError(
            "no aircraft glided at three airspeeds", "fly glides over the airspeeds of the climbs"
        )
    found, squares, *_ = np.linalg.lstsq(columns, y / sd, rcond=None)
    slopes = np.asarray(found[:2], dtype=np.float64)
    scatter = max(float(squares[0]) / spare, 1.0) if len(squares) else 1.0
    covariance = np.asarray(scatter * np.linalg.inv(columns.T @ columns), dtype=np.float64)
    return GlideSlope(slopes, covariance[:2, :2], float(s.min()), float(s.max()))
