"""The lowest point of a smooth function of a few numbers that may be bounded.

Broyden, Fletcher, Goldfarb and Shanno's steps with the whole matrix (J. Nocedal, S. J. Wright,
Numerical Optimization, 2nd edition, 2006, algorithm 6.1, with Powell's damping, procedure 18.2),
over the numbers that are not held by a bound. A library that does so loads for as long as a fleet
is fitted (`python -X importtime -c 'import scipy.optimize'`); both end at the same point to the
digits of the function (`tests/fleet/test_descent.py`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np

from fleetcal.fleet.points import Array

#: Given a point, returns the value there and its slope.
Function: TypeAlias = Callable[[Array], tuple[float, Array]]


_MOST_STEPS: Final = 500
_MOST_TRIES: Final = 60
#: A step is kept if it gains this part of what the slope promised, and leaves of it that part.
_GAINED: Final = 1e-4
_LEFT: Final = 0.9
_DAMPED: Final = 0.2


@dataclass(frozen=True)
class _Place:
    """A point with the value and the slope there."""

    point: Array
    value: float
    slope: Array


def lowest_point(
    function: Function, start: Array, low: Array, high: Array, *, smallest_gain: float
) -> Array:
    """Return where a function is lowest, as far as going down from a start tells.

    Args:
        start, low, high: Shape (n,).
        smallest_gain: The search ends at a step that gains less, relative to the value where that
            is above 1.
    """
    point = np.clip(start, low, high)
    here = _Place(point, *function(point))
    bent = _round(here)
    fresh = True
    for _ in range(_MOST_STEPS):
        direction = _downwards(here.point, here.slope, bent, low, high)
        if not direction.any():
            break
        found = _along(function, here, direction, low, high)
        if found is None:
            if fresh:
                break
            bent, fresh = _round(here), True
            continue
        step, turned = found.point - here.point, found.slope - here.slope
        bent, fresh = _bent_after(bent, step, turned, first=fresh), False
        gain, most = here.value - found.value, max(abs(here.value), abs(found.value), 1.0)
        # a step that a bound cut short says nothing of how far it is still down along it
        at_low, at_high = found.point <= low, found.point >= high
        cut = at_low & (direction < 0.0) | at_high & (direction > 0.0)
        here = found
        if not cut.any() and gain <= smallest_gain * most:
            break
    return here.point


def _round(here: _Place) -> Array:
    """Return a bend that is the same all round, by which the first step has length 1."""
    return np.eye(len(here.point)) * max(float(np.linalg.norm(here.slope)), 1e-300)


def _downwards(point: Array, slope: Array, bent: Array, low: Array, high: Array) -> Array:
    """Return the direction to the lowest point that the bend tells, out of no bound."""
    free, direction = low < high, -slope
    while True:
        leads_out = ((point <= low) & (direction < 0.0)) | ((point >= high) & (direction > 0.0))
        free &= ~leads_out
        direction = np.zeros_like(point)
        direction[free] = -np.linalg.solve(bent[np.ix_(free, free)], slope[free])
        at_bound = ((point <= low) & (direction < 0.0)) | ((point >= high) & (direction > 0.0))
        if not at_bound.any():
            return direction


def _along(
    function: Function, here: _Place, direction: Array, low: Array, high: Array
) -> _Place | None:
    """Return a lower place in a direction; None if there is none."""
    promised, point = float(here.slope @ direction), here.point
    bound = np.where(direction > 0.0, high, low)
    with np.errstate(divide="ignore", invalid="ignore"):
        room = np.where(direction == 0.0, np.inf, (bound - point) / direction)
    longest = float(room.min())
    short, long, step = 0.0, np.inf, min(1.0, longest)
    best: _Place | None = None
    for _ in range(_MOST_TRIES):
        tried = np.where(room <= step, bound, point + step * direction)
        there = _Place(tried, *function(tried))
        if not there.value <= here.value + _GAINED * step * promised:  # NaN too
            long = step
        else:
            best = there
            if step >= longest or float(there.slope @ direction) >= _LEFT * promised:
                break
            short = step
        step = min(2.0 * step, longest) if np.isinf(long) else (short + long) / 2.0
        if best is not None and np.isfinite(long) and long - short < 1e-3 * long:
            break
    return best


def _bent_after(bent: Array, moved: Array, turned: Array, *, first: bool) -> Array:
    """Return how the function bends, from how its slope turned over a step."""
    if first:
        along = float(moved @ turned)
        if along > 0.0:
            bent = np.eye(len(moved)) * float(turned @ turned) / along
    pushed = bent @ moved
    expected = float(moved @ pushed)
    if expected <= 0.0:
        return bent
    along = float(moved @ turned)
    if along < _DAMPED * expected:
        share = (1.0 - _DAMPED) * expected / (expected - along)
        turned = share * turned + (1.0 - share) * pushed
        along = float(moved @ turned)
    return np.asarray(bent - np.outer(pushed, pushed) / expected + np.outer(turned, turned) / along)
