"""Time that only goes forward: midnight unrolled, repeated and backward rows left out."""

from __future__ import annotations

from bisect import bisect_left
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.flightlog.cells import Floats

_DAY_S: Final = 86400.0
_NEAR_MIDNIGHT_S: Final = 7200.0
_BREAK_S: Final = 6 * 3600.0


def unroll_midnight(seconds: Floats) -> Floats:
    """Let seconds of the day run on where they start again at midnight.

    Only a step from the last two hours of a day to its first two hours
    counts; any other step back is a fault of the clock.

    Parameters
    ----------
    seconds : ndarray of float, shape (n,)
        NaN where the clock cannot be read.

    Returns
    -------
    ndarray of float, shape (n,)
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


def forward_rows(seconds: Floats) -> tuple[npt.NDArray[np.intp], tuple[str, ...]]:
    """Choose the rows that leave time strictly increasing, with the fewest left out.

    Parameters
    ----------
    seconds : ndarray of float, shape (n,)
        NaN where the clock cannot be read.

    Returns
    -------
    (ndarray of int, tuple of str)
        Indices of the rows to keep, and what was left out.
    """
    warnings: list[str] = []
    rows = np.flatnonzero(np.isfinite(seconds))
    if rows.size < seconds.size:
        warnings.append(f"{seconds.size - rows.size} rows without a readable clock left out")
    new = np.concatenate([[True], np.diff(seconds[rows]) != 0.0]) if rows.size else rows == 0
    if not new.all():
        warnings.append(f"{int((~new).sum())} rows that repeat the time before them left out")
        rows = rows[new]
    if np.any(np.diff(seconds[rows]) < 0.0):
        kept = rows[_longest_increasing(seconds[rows])]
        warnings.append(f"{rows.size - kept.size} rows left out where the clock went backward")
        rows = kept
    return _largest_part(seconds, rows, warnings), tuple(warnings)


def _longest_increasing(values: Floats) -> npt.NDArray[np.intp]:
    """Return the longest strictly increasing subsequence (patience sorting)."""
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


def _largest_part(
    seconds: Floats, rows: npt.NDArray[np.intp], warnings: list[str]
) -> npt.NDArray[np.intp]:
    """Keep the largest part of a log that a break of many hours divides."""
    breaks = np.flatnonzero(np.diff(seconds[rows]) > _BREAK_S) + 1
    if not breaks.size:
        return rows
    parts = np.split(rows, breaks)
    largest = max(parts, key=len)
    warnings.append(
        f"{rows.size - largest.size} rows left out that lie more than six hours from the others"
    )
    return largest
