"""Parts of a recording over which time runs forward: a restarted recorder, several flights.

Parts are put two hours apart on one clock; the rules that end a leg at a hole and a run at
a pause do the rest.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.errors import MalformedFileError
from fleetcal.flightlog.cells import Floats
from fleetcal.flightlog.logged import Logged
from fleetcal.flightlog.time_order import longest_increasing

Indices = npt.NDArray[np.intp]

_BREAK_S: Final = 6 * 3600.0
_FEWEST_ROWS: Final = 10
_SHORTEST_S: Final = 20.0
# up to this share of rows out of order is a fault of the clock, not a new start
_STRAY_SHARE: Final = 0.02
_FEW_STRAYS: Final = 3
_FEW_LEFT: Final = 0.2
_SLOW_CLOCK_S: Final = 20.0
_MOST_SORTED: Final = 3_000_000


def forward_parts(seconds: Floats) -> tuple[tuple[Indices, ...], tuple[str, ...]]:
    """Divide rows into parts over which time strictly increases.

    A few rows out of order are left out. Where the clock steps back and runs
    on from there, or more than six hours are missing, a new part begins.

    Args:
        seconds (n,): NaN where the clock cannot be read.

    Returns:
        Rows of each part in the order of the file, and what was left out.
    """
    steps = np.diff(seconds)
    if steps.size and np.all((steps > 0.0) & (steps <= _BREAK_S)):
        return (np.arange(seconds.size),), ()
    warnings: list[str] = []
    rows = np.flatnonzero(np.isfinite(seconds))
    if rows.size < seconds.size:
        warnings.append(f"{seconds.size - rows.size} rows without a readable clock left out")
    new = np.concatenate([[True], np.diff(seconds[rows]) != 0.0]) if rows.size else rows == 0
    if not new.all():
        warnings.append(f"{int((~new).sum())} rows that repeat the time before them left out")
        rows = rows[new]
    pieces = _forward(seconds, rows, warnings)
    parts = [part for piece in pieces for part in _at_long_breaks(seconds, piece)]
    good = [part for part in parts if part.size >= _FEWEST_ROWS] or parts[:1]
    if len(good) < len(parts):
        lost = sum(part.size for part in parts) - sum(part.size for part in good)
        warnings.append(f"{lost} rows left out that stand alone, far from all others in time")
    return tuple(good), tuple(warnings)


def require_running_clock(logged: Logged, parts: tuple[Indices, ...]) -> None:
    """Refuse a clock written without its seconds: of each minute one row would be left.

    Args:
        parts: As `forward_parts` returned them.

    Raises:
        MalformedFileError: If fewer than a fifth of the rows have a time of their own, and these
            are 20 s or more apart.
    """
    rows = int(np.count_nonzero(np.isfinite(logged.clock.seconds)))
    used = sum(part.size for part in parts)
    if used > rows * _FEW_LEFT:
        return
    steps = [np.diff(logged.clock.seconds[part]) for part in parts if part.size > 1]
    if not steps:
        return
    step = float(np.median(np.concatenate(steps)))
    if step >= _SLOW_CLOCK_S:
        raise MalformedFileError(
            f"{logged.source_name}, column '{logged.clock_heading}': the clock stands still for "
            f"{step:.0f} s at a time; {rows - used} of {rows} rows repeat the time before them.",
            "Its seconds were lost, as when a spreadsheet shows times as hh:mm: save it once more "
            "with the column shown as hh:mm:ss.",
        )


def _forward(seconds: Floats, rows: Indices, warnings: list[str]) -> list[Indices]:
    """Sort out a clock that goes backward."""
    times = seconds[rows]
    backward = np.flatnonzero(np.diff(times) < 0.0) + 1
    if not backward.size:
        return [rows]
    kept = rows
    if rows.size <= _MOST_SORTED:
        kept = rows[longest_increasing(times)]
    strays = rows.size - kept.size
    pieces = np.split(rows, backward)
    long = [p for p in pieces if _is_part(seconds, p)]
    few = strays <= max(_FEW_STRAYS, _STRAY_SHARE * rows.size)
    kept_rows = sum(piece.size for piece in long)
    if kept is not rows and (few or 2 * kept_rows < rows.size):
        warnings.append(f"{strays} rows left out where the clock went backward")
        return [kept]
    if kept_rows < rows.size:
        warnings.append(f"{rows.size - kept_rows} rows left out where the clock went backward")
    return long or [kept]


def _is_part(seconds: Floats, piece: Indices) -> bool:
    return piece.size >= _FEWEST_ROWS and bool(
        seconds[piece[-1]] - seconds[piece[0]] >= _SHORTEST_S
    )


def _at_long_breaks(seconds: Floats, rows: Indices) -> list[Indices]:
    return np.split(rows, np.flatnonzero(np.diff(seconds[rows]) > _BREAK_S) + 1)
