"""What a thermometer is off by, told from the two heights of a flight.

Air that is a kelvin warmer is 0.35 % thicker: 3.5 m in 1,000 m of climb. That is less than
a satellite height is off by, whose error stays for minutes, and as much as an altimeter
without a bench check may be. So one climb tells little, and several from the same heights
share the altimeter's error. All samples of the flight are fitted together,

    excess = zero + per_kelvin @ (offset + wander) + effects + altimeter + slow + rounding

with the effects of `heights_flown`. The altimeter's error hangs together over some height,
the slow one (satellites, small weather) over some time, and a few thermometers wander: they
are warmed on the ground or by the sun. Size and memory of the slow error and the size of
the wander are weighed on a grid by restricted likelihood (D. A. Harville, JASA 72 (1977))
and a weak prior. Nothing is supposed of the offset.

What one flight finds contains that altimeter's and that probe's lasting errors, so the
offset is the airframe's, not the day's. Satellite heights that were smoothed with an
altimeter tell nothing: such a height follows the altimeter, and is refused.

Measured on simulated flights (``python -m tests.airdata.simulations.thermometer 250``), with
an altimeter's u of 6.1 m: one climb to 1,500 m errs by 1.6 K rms, one to 3,000 m by 0.8, six
to 2,500 m by 0.9; 93 to 98 % of the 95 % intervals hold (Monte Carlo error 0.7 to 1.6 %).
Readings put right by `combined_offset` are off by 0.83, 0.66 and 0.64 K in place of 1 K.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.linalg import cho_factor, cho_solve

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.heights_flown import (
    HeightColumns,
    HeightDoubts,
    HeightsFlown,
    height_columns,
)
from fleetcal.units import M_PER_FT

#: Between its 2nd and 98th percentile a flight must climb or descend so far.
LEAST_RANGE_M: Final = 1000.0 * M_PER_FT
#: An offset less sure than this says nothing, K.
LARGEST_U_K: Final = 3.0
#: A thermometer is never so far off, K; heights that say so do not belong together.
LARGEST_OFFSET_K: Final = 25.0
_FARTHEST_APART_M: Final = 1000.0
_FARTHEST_OUT_M: Final = 500.0  # of a single satellite height
_FEWEST_BLOCKS: Final = 20
_MOST_BLOCKS: Final = 240
_SHORTEST_BLOCK_S: Final = 10.0
_SLOWEST_MPS: Final = 15.0  # not on the ground, where the sun warms the probe
_FOLLOWS_M: Final = 0.5
# Common practice, no published source: the height over which an altimeter's error hangs
# together; size and memory of the slow error with the logarithmic widths of their priors.
_ALTIMETER_MEMORY_M: Final = 2000.0
_SIZES_M: Final = (1.0, 2.0, 3.5, 6.0, 10.0)
_MEMORIES_S: Final = (60.0, 300.0, 1500.0)
_USUAL_SIZE_M, _SIZE_WIDTH = 4.0, 0.7
_USUAL_MEMORY_S, _MEMORY_WIDTH = 300.0, 1.0
# how far thermometers wander within a flight, how many of them, and how long it lasts
_WANDERS_K: Final = (0.0, 0.7, 2.0)
_OF_THEM: Final = (0.9, 0.08, 0.02)
_WANDER_MEMORY_S: Final = 900.0
_FAST_M: Final = 0.5
# how many thermometers are how many times as far off as supposed
_FAR_OFF, _FAR_OFF_TIMES = 0.05, 4.0
_ONCE_IN_A_HUNDRED: Final = 2.58


@dataclass(frozen=True, kw_only=True)
class ThermometerCheck:
    """What the heights say of a thermometer.

    Attributes:
        offset_k: By how much it reads too warm; NaN where nothing can be told.
        u_k: Standard uncertainty.
        range_m: Of pressure altitude that was flown through.
        slow_error_m: Standard deviation found of the slow error of the heights.
        wander_k: How far the thermometer was found to wander about its offset.
        reason: Why nothing can be told; empty if it can.
    """

    offset_k: float
    u_k: float
    range_m: float
    slow_error_m: float = np.nan
    wander_k: float = np.nan
    reason: str = ""


def check_thermometer(flown: HeightsFlown, doubts: HeightDoubts) -> ThermometerCheck:
    """Return what the heights of a flight say of its thermometer.

    Args:
        flown: Samples as recorded.
    """
    flown, doubts = _complete(flown, doubts)
    reason = _unfit(flown, doubts)
    span = _range(flown.altitude_m)
    if reason:
        return ThermometerCheck(offset_k=np.nan, u_k=np.nan, range_m=span, reason=reason)
    flown, doubts = _in_blocks(flown, doubts)
    found = _fitted(flown, doubts, height_columns(flown, doubts))
    if found.u_k > LARGEST_U_K:
        open_k = 1.96 * found.u_k
        reason = (
            f"climb and descent through {span / M_PER_FT:.0f} ft leave it open by "
            f"{open_k:.0f} degC either way"
        )
    elif abs(found.offset_k) > LARGEST_OFFSET_K:
        reason = "satellite height and altimeter do not climb and descend alike"
    return replace(found, range_m=span, reason=reason)


def combined_offset(offset_k: float, u_k: float, supposed_k: float) -> tuple[float, float]:
    """Combine what the heights say with what is supposed of any thermometer.

    Most thermometers are off as far as supposed, a few four times as far: so heights that
    say so are not drawn to what is usual, and heights that hardly tell change hardly anything.

    Args:
        offset_k, u_k: By the heights.
        supposed_k: Standard deviation supposed of thermometers about no offset; 0 for one that is
            right whatever the heights say.

    Returns:
        Offset to take off the readings, and its standard uncertainty.
    """
    prior = (supposed_k * np.array([1.0, _FAR_OFF_TIMES])) ** 2
    seen = prior + u_k**2
    weight = np.array([1.0 - _FAR_OFF, _FAR_OFF]) / np.sqrt(seen)
    weight *= np.exp(-0.5 * offset_k**2 * (1.0 / seen - 1.0 / seen.max()))
    weight /= weight.sum()
    means = offset_k * prior / seen
    mean = float(weight @ means)
    return mean, float(np.sqrt(weight @ (prior * u_k**2 / seen + (means - mean) ** 2)))


def clashes(offset_k: float, u_k: float, supposed_k: float) -> bool:
    """Tell whether heights contradict what is supposed, as by chance once in a hundred flights."""
    return abs(offset_k) > _ONCE_IN_A_HUNDRED * float(np.hypot(u_k, supposed_k))


def _range(altitude_m: Array) -> float:
    if not altitude_m.size:
        return 0.0
    low, high = np.percentile(altitude_m, [2.0, 98.0])
    return float(high - low)


def _unfit(flown: HeightsFlown, doubts: HeightDoubts) -> str:
    """Return why complete samples tell nothing, or an empty string."""
    span = _range(flown.altitude_m)
    blocks = np.unique(np.floor(flown.time_s / _SHORTEST_BLOCK_S)).size
    if blocks < _FEWEST_BLOCKS:
        return f"both heights and the temperature are together for {blocks * 10} s only"
    if span < LEAST_RANGE_M:
        return (
            f"the flight climbs and descends through {span / M_PER_FT:.0f} ft, "
            f"{LEAST_RANGE_M / M_PER_FT:.0f} ft needed"
        )
    apart = flown.geometric_m - flown.altitude_m
    if abs(float(np.median(apart))) > _FARTHEST_APART_M:
        return "the satellite height is too far off the pressure altitude"
    rounding = float(np.hypot(doubts.altitude_step_m, doubts.geometric_step_m)) / np.sqrt(12.0)
    if float(np.std(apart)) < _FOLLOWS_M + rounding:
        return "the satellite height follows the altimeter, as if it were made from it"
    return ""


def _complete(flown: HeightsFlown, doubts: HeightDoubts) -> tuple[HeightsFlown, HeightDoubts]:
    """Return the samples in flight that have everything."""
    good = np.all(np.isfinite(_stacked(flown)), axis=0)
    good &= np.nan_to_num(flown.airspeed_mps) > _SLOWEST_MPS
    if np.any(good):
        apart = flown.geometric_m - flown.altitude_m
        good[good] = np.abs(apart[good] - np.median(apart[good])) < _FARTHEST_OUT_M
    rows = np.flatnonzero(good)
    return _with(flown, _stacked(flown)[:, rows]), replace(
        doubts, u_altitude_m=doubts.u_altitude_m[rows]
    )


_COLUMNS: Final = (
    *("time_s", "altitude_m", "geometric_m", "temperature_k", "airspeed_mps"),
    *("east_mps", "north_mps", "relative_humidity"),
)


def _stacked(flown: HeightsFlown) -> Array:
    return np.stack([getattr(flown, name) for name in _COLUMNS])


def _with(flown: HeightsFlown, rows: Array) -> HeightsFlown:
    return replace(flown, **dict(zip(_COLUMNS, rows, strict=True)))


def _in_blocks(flown: HeightsFlown, doubts: HeightDoubts) -> tuple[HeightsFlown, HeightDoubts]:
    """Return means over blocks of time, as many as are quickly fitted.

    Everything goes with the heights linearly enough for means to do; of the satellite height
    above the altimeter the median is taken, against single wrong fixes.
    """
    lasting = float(flown.time_s[-1] - flown.time_s[0])
    width = max(_SHORTEST_BLOCK_S, lasting / _MOST_BLOCKS)
    _, place = np.unique(np.floor((flown.time_s - flown.time_s[0]) / width), return_inverse=True)
    count = np.bincount(place)

    def means(values: Array) -> Array:
        return np.asarray(np.bincount(place, values) / count)

    apart = flown.geometric_m - flown.altitude_m
    middle = np.array([np.median(apart[place == block]) for block in range(len(count))])
    blocks = _with(flown, np.stack([means(values) for values in _stacked(flown)]))
    blocks = replace(blocks, geometric_m=blocks.altitude_m + middle)
    return blocks, replace(doubts, u_altitude_m=means(doubts.u_altitude_m))


def _fitted(flown: HeightsFlown, doubts: HeightDoubts, columns: HeightColumns) -> ThermometerCheck:
    """Weigh what is tried of slow error and wander, and average the offset over it."""
    size, memory, wander = (
        part.ravel() for part in np.meshgrid(_SIZES_M, _MEMORIES_S, _WANDERS_K, indexing="ij")
    )
    weight = np.log(_OF_THEM)[np.searchsorted(_WANDERS_K, wander)]
    weight -= 0.5 * (np.log(size / _USUAL_SIZE_M) / _SIZE_WIDTH) ** 2
    weight -= 0.5 * (np.log(memory / _USUAL_MEMORY_S) / _MEMORY_WIDTH) ** 2
    steady = _steady_covariance(flown, doubts, columns)
    apart = np.abs(flown.time_s[:, None] - flown.time_s[None, :])
    lasting = np.exp(-apart / _WANDER_MEMORY_S)
    wandering = columns.per_kelvin_m @ lasting @ columns.per_kelvin_m.T
    design = np.stack([np.ones(len(apart)), columns.per_kelvin_m.sum(axis=1)], axis=1)
    slow = {of: np.exp(-apart / of) for of in _MEMORIES_S}
    offset, variance = np.zeros(len(size)), np.zeros(len(size))
    for node in range(len(size)):
        covariance = steady + size[node] ** 2 * slow[float(memory[node])]
        covariance += wander[node] ** 2 * wandering
        likelihood, offset[node], variance[node] = _at_node(covariance, design, columns.excess_m)
        weight[node] += likelihood
    weight = np.exp(weight - weight.max())
    weight /= weight.sum()
    mean = float(weight @ offset)
    return ThermometerCheck(
        offset_k=mean,
        u_k=float(np.sqrt(weight @ (variance + (offset - mean) ** 2))),
        range_m=_range(flown.altitude_m),
        slow_error_m=float(weight @ size),
        wander_k=float(np.sqrt(weight @ wander**2)),
    )


def _steady_covariance(flown: HeightsFlown, doubts: HeightDoubts, columns: HeightColumns) -> Array:
    """Return the covariance of everything but the slow error, shape (n, n)."""
    height, u = flown.altitude_m, doubts.u_altitude_m
    near = np.exp(-np.abs(height[:, None] - height[None, :]) / _ALTIMETER_MEMORY_M)
    fast = _FAST_M**2 + (doubts.altitude_step_m**2 + doubts.geometric_step_m**2) / 12.0
    effects = columns.effects_m @ columns.effects_m.T
    return np.asarray(effects + near * np.outer(u, u) + fast * np.eye(len(height)))


def _at_node(covariance: Array, design: Array, seen: Array) -> tuple[float, float, float]:
    """Return restricted log likelihood, offset and variance of the offset."""
    factor = cho_factor(covariance, lower=True)
    solved = cho_solve(factor, np.column_stack([design, seen]))
    normal = design.T @ solved[:, :2]
    known = np.linalg.inv(normal)
    found = known @ (design.T @ solved[:, 2])
    squares = float(seen @ solved[:, 2]) - float(found @ normal @ found)
    log_det = 2.0 * float(np.sum(np.log(np.diag(factor[0]))))
    log_det += float(np.linalg.slogdet(normal)[1])
    return -0.5 * (log_det + squares), float(found[1]), float(known[1, 1])
