"""The chance that flights without a change show one somewhere, for having looked everywhere.

After each flight every place of a step is looked at, so the largest of many correlated
numbers decides. The chance that any of them passes a limit comes from drawing series in
which one, chosen at random, passes it, and counting how many pass with it: the sum of the
single chances times the mean of one over that count. It is exact but for a Monte Carlo
error of a few hundredths of itself, however small the chance. Source: A. B. Owen,
Y. Maximov, M. Chertkov, Importance sampling the union of rare events with an application
to power systems analysis, Electronic Journal of Statistics 13 (2019).

Steps are looked at as if the scatter of the flights were known; what it is not known by is
in each single chance already.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy import special

from fleetcal.fleet.points import Array, Index

#: Fewest flights on either side of a step: one flight that differs is not yet a change.
FEWEST_A_SIDE: Final = 2
#: Fewest flights that a series can be judged by.
FEWEST_FLIGHTS: Final = 5
_MOST_DRAWS, _FEWEST_DRAWS = 2000, 300
#: Numbers drawn in all, so that a long series does not take long.
_NUMBERS: Final = 4_000_000
_SEED: Final = 20_190_101


def places_looked_at(flights: int) -> tuple[Index, Index]:
    """Return each step that is looked at, as flights before it and flights flown by then.

    Args:
        flights: Of the series, looked at again after each flight.

    Returns:
        Both of shape (steps,); empty for a series too short.
    """
    looks = range(FEWEST_FLIGHTS, flights + 1)
    pairs = [(k, m) for m in looks for k in range(FEWEST_A_SIDE, m - FEWEST_A_SIDE + 1)]
    before, flown = np.array(pairs, dtype=np.int64).reshape(-1, 2).T
    return before, flown


def chance_of_any(single: float, weight: Array) -> float:
    """Return the chance that any step of a clean series is as unlikely as one that was seen.

    Args:
        single: Two-sided chance of that step by itself, above 0.
        weight (flights,): What each flight says of the level, one over its variance.

    Returns:
        At most 1; 1 for a series too short to be looked at.
    """
    before, flown = places_looked_at(len(weight))
    if not len(before):
        return 1.0
    limit = -special.ndtri(single / 2.0)
    rng = np.random.default_rng(_SEED)
    draws = int(np.clip(_NUMBERS // len(before), _FEWEST_DRAWS, _MOST_DRAWS))
    total = np.r_[0.0, np.cumsum(weight)]
    root = np.sqrt(weight)
    share = total[before] / total[flown]
    size = np.sqrt(total[before] * (1.0 - share))
    drawn = rng.standard_normal((draws, len(weight)))
    chosen = rng.integers(0, len(before), draws)
    k, m, at = before[chosen], flown[chosen], np.arange(len(weight))
    rows = root * ((at < k[:, None]) - share[chosen, None]) * (at < m[:, None])
    rows /= size[chosen, None]
    passing = -special.ndtri(rng.random(draws) * special.ndtr(-limit))
    drawn += rows * (passing - np.sum(rows * drawn, axis=1))[:, None]
    sums = np.c_[np.zeros(draws), np.cumsum(root * drawn, axis=1)]
    shown = (sums[:, before] - share * sums[:, flown]) / size
    count = np.sum(np.abs(shown) >= limit * (1.0 - 1e-12), axis=1)
    return float(min(len(before) * single * np.mean(1.0 / count), 1.0))
