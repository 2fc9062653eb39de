"""Groups whose aircraft fall into two clusters, as if half of them had a change nobody noted.

The levels of the aircraft, in order, are split where the two parts scatter least about their own
means. How often one normal sample lets itself be split as well is found by drawing such samples;
scale and middle do not matter (A. J. Scott, M. J. Symons, Clustering methods based on likelihood
ratio criteria, Biometrics 27 (1971), from memory, for the criterion).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from fleetcal.fleet.points import Array, Index
from fleetcal.fleet.sums import AircraftSums

#: Fewest aircraft of a group that is looked at, and share of them that makes a cluster.
FEWEST: Final = 6
SHARE: Final = 0.25
#: Chance of calling one cluster two, over all groups.
LEVEL: Final = 0.05
#: The best split of a large normal sample, in the middle; that of a small one is better still.
_NORMAL_GAIN: Final = 1.0 / (1.0 - 2.0 / np.pi)
_DRAWS: Final = 4000
#: Numbers that are drawn at most, and samples at least.
_MOST_DRAWN: Final = 2_000_000
_FEWEST_DRAWS: Final = 400


@dataclass(frozen=True, kw_only=True)
class Clusters:
    """Two clusters of a group.

    Attributes:
        low, high: Aircraft of each, by their number in the fleet, in order of their level.
        apart: Mean level of the higher less that of the lower, in y.
        p_value: Chance that one normal sample splits as well, adjusted for the groups looked at.
    """

    group: int
    low: tuple[int, ...]
    high: tuple[int, ...]
    apart: float
    p_value: float


def two_clusters(sums: AircraftSums) -> tuple[Clusters, ...]:
    """Return the groups that are surely two clusters.

    Args:
        sums: Of order 1 or more; with a curve of order 0 levels are not told from tilts.
    """
    size = min(sums.products.shape[1] - 1, 2)
    level = sums.own_lines(size)[0][:, 0]
    numbers = [np.flatnonzero(sums.group_of == group) for group in np.unique(sums.group_of)]
    large = [mine for mine in numbers if len(mine) >= FEWEST]
    splits = [_split(mine[np.argsort(level[mine])], level, sums) for mine in large]
    found = [one for one in splits if one is not None]
    return tuple(
        Clusters(
            group=one.group,
            low=one.low,
            high=one.high,
            apart=one.apart,
            p_value=min(one.p_value * len(large), 1.0),
        )
        for one in found
        if one.p_value * len(large) < LEVEL
    )


def _split(ordered: Index, level: Array, sums: AircraftSums) -> Clusters | None:
    """Return a group split where that is best; None where any normal sample splits as well."""
    values = level[ordered]
    gain, at = _best_split(values[None, :])
    if gain[0] <= _NORMAL_GAIN:
        return None
    normal = _normal_gains(len(values))
    above = int(np.sum(normal >= gain[0]))
    low, high = values[: at[0]], values[at[0] :]
    return Clusters(
        group=int(sums.group_of[ordered[0]]),
        low=tuple(ordered[: at[0]].tolist()),
        high=tuple(ordered[at[0] :].tolist()),
        apart=float(high.mean() - low.mean()),
        p_value=(above + 1) / (len(normal) + 1),
    )


@lru_cache(maxsize=64)
def _normal_gains(count: int) -> Array:
    """Return how well normal samples of so many split."""
    draws = int(np.clip(_MOST_DRAWN // count, _FEWEST_DRAWS, _DRAWS))
    samples = np.random.default_rng(0).standard_normal((draws, count))
    return _best_split(np.sort(samples, axis=1))[0]


def _best_split(values: Array) -> tuple[Array, Index]:
    """Return how many times less two parts scatter than all, and the size of the lower part.

    Args:
        values (samples, n): Rising.
    """
    count = values.shape[1]
    least = max(2, int(np.ceil(SHARE * count)))
    away = values - values.mean(axis=1, keepdims=True)
    sizes = np.arange(least, count - least + 1)
    below = np.cumsum(away, axis=1)[:, sizes - 1]
    between = below**2 * (1.0 / sizes + 1.0 / (count - sizes))
    best = np.argmax(between, axis=1)
    taken = np.take_along_axis(between, best[:, None], axis=1)[:, 0]
    total = (away**2).sum(axis=1)
    return np.asarray(total / np.maximum(total - taken, 1e-300)), sizes[best]
