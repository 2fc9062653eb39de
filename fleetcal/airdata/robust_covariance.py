"""Covariance of a least-squares fit to samples whose residuals remember, for an unknown noise.

The noise is read off the slow part of the fit's own scores (gain times residual),
which decides how far the estimate moves: their components along a few cosines of
low frequency, squared and averaged. This is an autocorrelation-robust (HAC)
estimate of the kind of W. K. Newey and K. D. West, Econometrica 55 (1987), with
equal weight on cosines, for which Student's t applies (U. K. Mueller, Journal of
Econometrics 141 (2007)). A fit with few circles takes a good part of the slow
noise out of its residuals; how much, and the degrees of freedom left, are worked
out for a noise of supposed memory (R. M. Bell, D. F. McCaffrey, Survey Methodology
28 (2002), do so for clusters), and the memory that says most is taken.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array

#: Cosines have at least this period, s: about 2 pi times the memory that is expected of
#: turbulence (`sample_noise.EXPECTED_MEMORY_S`), below which gusts have lost their strength.
SHORTEST_PERIOD_S: Final = 30.0
_FEWEST_COSINES: Final = 4
_MOST_COSINES: Final = 24
#: Memories for which the part taken out by the fit is worked out, s: gusts, and a slow wind.
_MEMORIES_S: Final = (5.0, 10.0, 20.0)
_MOST_BLOCKS: Final = 400


@dataclass(frozen=True)
class RobustCovariance:
    """Covariance of the unknowns of a fit.

    Attributes:
        covariance: Shape (p, p).
        degrees_of_freedom (p,): Of each variance.
    """

    covariance: Array
    degrees_of_freedom: Array


def robust_covariance(
    gain: Array, jacobian: Array, residual: Array, time_s: Array
) -> RobustCovariance:
    """Return the covariance of a linear fit from its residuals.

    Args:
        gain (p, n): The unknowns move by -gain @ change when the residuals change.
        jacobian (n, p): Of the residuals.
        residual (n,): At the solution.
        time_s (n,): Increasing, s.
    """
    edges = _edges(len(residual))
    sizes = np.diff(np.append(edges, len(residual)))
    time = np.add.reduceat(time_s, edges) / sizes
    gains = np.add.reduceat(gain, edges, axis=1)
    slopes = np.add.reduceat(jacobian, edges, axis=0) / sizes[:, None]
    left = np.add.reduceat(residual, edges) / sizes
    cosines = _cosines(time)
    scale = len(left) / len(cosines)
    apart = np.abs(time[:, None] - time[None, :])
    noises = [np.exp(-apart / memory) for memory in _MEMORIES_S]
    parts = np.stack([cosines @ (row * left) for row in gains])
    found = scale * parts @ parts.T
    larger, freedom = [], []
    for row in gains:
        # what the scores' cosines see of a noise, after the fit has taken its part
        seen = cosines * row
        seen = seen - (seen @ slopes) @ gains
        looks = []
        for noise in noises:
            spread = seen @ noise @ seen.T
            trace = float(np.trace(spread))
            truth = float(row @ noise @ row)
            looks.append(
                (
                    truth / max(scale * trace, 1e-300),
                    trace**2 / max(float(np.sum(spread**2)), 1e-300),
                )
            )
        larger.append(max(look[0] for look in looks))
        freedom.append(min(look[1] for look in looks))
    root = np.sqrt(np.maximum(np.array(larger), 1.0))
    return RobustCovariance(found * np.outer(root, root), np.maximum(np.array(freedom), 1.0))


def _edges(count: int) -> npt.NDArray[np.int64]:
    places = np.linspace(0, count, min(count, _MOST_BLOCKS), endpoint=False)
    return np.unique(places.astype(np.int64))


def _cosines(time_s: Array) -> Array:
    """Return cosines of low frequency, orthonormal over evenly spaced samples, shape (k, n)."""
    span = float(time_s[-1] - time_s[0]) * len(time_s) / (len(time_s) - 1)
    count = int(np.clip(2.0 * span / SHORTEST_PERIOD_S, _FEWEST_COSINES, _MOST_COSINES))
    phase = np.pi * (time_s - time_s[0] + span / len(time_s) / 2.0) / span
    waves = np.cos(np.arange(1, count + 1)[:, None] * phase)
    return np.asarray(np.sqrt(2.0 / len(time_s)) * waves)
