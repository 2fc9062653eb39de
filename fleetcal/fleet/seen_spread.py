"""How much aircraft of a type are seen to differ in level, whatever a few of them do."""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.sums import aircraft_sums

#: Fewest aircraft of a group that say anything of the spread.
_FEWEST: Final = 5
#: Standard deviation over median of the size, of normal values; and what the median is worth
#: beside the mean square (P. J. Huber, Robust Statistics, 1981, 5.1, from memory).
_PER_MEDIAN: Final = 1.4826
_WORTH: Final = 0.37


def seen_spread(points: FleetPoints) -> tuple[float, float, int]:
    """Return the standard deviation of the level between aircraft, by medians.

    Returns:
        In y, not below a quarter of what the points leave open; degrees of freedom that it is
        worth; groups that show it. NaN, 0 and 0 where no group has five aircraft.
    """
    lines, covariance = aircraft_sums(points).own_lines(2)
    level, left = lines[:, 0], covariance[:, 0, 0]
    away, variance, groups = [], [], 0
    for group in range(points.groups):
        mine = points.group_of == group
        if mine.sum() >= _FEWEST:
            away.append(np.abs(level[mine] - np.median(level[mine])))
            variance.append(left[mine])
            groups += 1
    if not groups:
        return np.nan, 0.0, 0
    left_open = float(np.median(np.concatenate(variance)))
    size = _PER_MEDIAN * float(np.median(np.concatenate(away)))
    free = _WORTH * (sum(map(len, away)) - groups)
    return float(np.sqrt(max(size**2 - left_open, left_open / 16.0))), free, groups
