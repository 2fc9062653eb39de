"""Time that only goes forward: midnight unrolled, the rows that stand in order."""

from __future__ import annotations

from bisect import bisect_left
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.flightlog.cells import Floats

_DAY_S: Final = 86400.0
_NEAR_MIDNIGHT_S: Final = 7200.0


def unroll_midnight(seconds: Floats) -> Floats:
    """Let seconds of the day run on where they start again at midnight.

    Only a step from the last two hours of a day to its first two hours
    counts; any other step back is a fault of the clock.

    Args:
        seconds (n,): NaN where the clock cannot be read.

    Returns:
        Shape (n,).
    """
    good = np.flatnonzero(np.isfinite(seconds))
    day = seconds[good]
    if day.size < 2:
        return seconds.copy()
    roll = (day[:-1] > _DAY_S - _NEAR_MIDNIGHT_S) & (day[1:] < _NEAR_MIDNIGHT_S)
    back = (day[1:] > _DAY_S - _NEAR_MIDNIGHT_S) & (day[:-1] < _NEAR_MIDNIGHT_S)
    days = np.concatenate([[0], np.cumsum(roll.astype(int) - back.astype(int))])
    unrolled = seconds.copy()
    unrolled[good] = day + _DAY_S * days
    return unrolled


def longest_increasing(values: Floats) -> npt.NDArray[np.intp]:
    """Return the longest strictly increasing subsequence (patience sorting).

    Args:
        values: Shape (n,).

    Returns:
        Places of the values that stay.
    """
    tails: list[float] = []
    tail_index: list[int] = []
    before = np.full(values.size, -1, dtype=np.intp)
    for index, value in enumerate(values.tolist()):
        place = bisect_left(tails, value)
        before[index] = tail_index[place - 1] if place else -1
        if place == len(tails):
            tails.append(value)
            tail_index.append(index)
        else:
            tails[place] = value
            tail_index[place] = index
    chain = []
    index = tail_index[-1]
    while index >= 0:
        chain.append(index)
        index = int(before[index])
    return np.array(chain[::-1], dtype=np.intp)
