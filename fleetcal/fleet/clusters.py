"""Groups whose aircraft fall into two clusters, as if half of them had a change nobody noted.

The levels of the aircraft, in order, are split where the two parts scatter least about their own
means. How often one normal sample lets itself be split as well is found by drawing such samples;
scale and middle do not matter (A. J. Scott, M. J. Symons, Clustering methods based on likelihood
ratio criteria, Biometrics 27 (1971), from memory, for the criterion).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.fleet.points import Array, Index
from fleetcal.fleet.sums import AircraftSums

#: Fewest aircraft of a group that is looked at, and share of them that makes a cluster.
FEWEST: Final = 6
SHARE: Final = 0.25
#: Chance of calling one cluster two, over all groups.
LEVEL: Final = 0.05
_DRAWS: Final = 4000


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
    own = np.linalg.pinv(sums.products[:, :size, :size], rcond=1e-9, hermitian=True)
    level = np.einsum("ai,ai->a", own[:, 0], sums.products[:, :size, -1])
    numbers = [np.flatnonzero(sums.group_of == group) for group in np.unique(sums.group_of)]
    large = [mine for mine in numbers if len(mine) >= FEWEST]
    found = [_split(mine[np.argsort(level[mine])], level, sums) for mine in large]
    return tuple(
        Clusters(
            group=one.group,
            low=one.low,
            high=one.high,
            apart=one.apart,
            p_value=min(one.p_value * len(found), 1.0),
        )
        for one in found
        if one.p_value * len(found) < LEVEL
    )


def _split(ordered: Index, level: Array, sums: AircraftSums) -> Clusters:
    values = level[ordered]
    gain, at = _best_split(values[None, :])
    rng = np.random.default_rng(0)
    samples = np.sort(rng.standard_normal((_DRAWS, len(values))), axis=1)
    above = int(np.sum(_best_split(samples)[0] >= gain[0]))
    low, high = values[: at[0]], values[at[0] :]
    return Clusters(
        group=int(sums.group_of[ordered[0]]),
        low=tuple(ordered[: at[0]].tolist()),
        high=tuple(ordered[at[0] :].tolist()),
        apart=float(high.mean() - low.mean()),
        p_value=(above + 1) / (_DRAWS + 1),
    )


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
