"""Random air in steps of time: processes with memory, turbulence, rising bubbles, lags.

Everything here works on the last axis, so that many flights are drawn at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.signal import lfilter

from seed_demo.air import Array

#: Memory of turbulence, s: a scale of 1,750 ft above 2,000 ft of height, passed at 100 kt
#: (MIL-F-8785C, Dryden form; the figure is from memory).
GUST_MEMORY_S: Final = 10.0
#: How soon an aircraft with its engine at constant power goes along with the air (invented;
#: drag, side force and the pilot of a light two-seater make some ten seconds of it).
RESPONSE_S: Final = 12.0
#: Radius of a bubble over its height.
FLATNESS: Final = 2.0


def remembering(
    rng: np.random.Generator, shape: tuple[int, ...], sd: float, memory_s: float, step_s: float
) -> Array:
    """Return a first-order (Ornstein-Uhlenbeck) process in its steady state.

    Args:
        rng: Numpy Generator.
        shape: Time is the last axis.
        sd: Standard deviation at any one time, in the unit of the result.
        memory_s: Time after which the correlation has fallen to 1/e.
        step_s: Between samples.

    Returns:
        Shape `shape`.
    """
    keep = float(np.exp(-step_s / memory_s))
    shocks = rng.normal(0.0, sd, shape)
    shocks[..., 1:] *= np.sqrt(1.0 - keep**2)
    return np.asarray(lfilter([1.0], [1.0, -keep], shocks, axis=-1))


def following(signal: Array, time_constant_s: float, step_s: float) -> Array:
    """Return what follows a signal with a first-order lag, settled at the start.

    Exact for a signal that is straight between its samples, however short the lag.
    """
    if time_constant_s <= 0.0:
        return signal
    keep = float(np.exp(-step_s / time_constant_s))
    behind = (1.0 - keep) * time_constant_s / step_s
    settled = behind * signal[..., :1]
    gains = [1.0 - behind, behind - keep]
    return np.asarray(lfilter(gains, [1.0, -keep], signal, axis=-1, zi=settled)[0])


def turbulence(
    rng: np.random.Generator,
    shape: tuple[int, ...],
    sd: float,
    step_s: float,
    memory_s: float = GUST_MEMORY_S,
) -> Array:
    """Return gusts as they meet the aircraft: along its way, across it to the right, upwards.

    The gust along has a first-order spectrum, the two across have the second-order
    one of the same scale, (1 + sqrt(3) T s)/(1 + T s)^2 (MIL-F-8785C, Dryden form,
    from memory).

    Args:
        rng: Numpy Generator.
        shape: Time is the last axis.
        sd: Of each component.

    Returns:
        Shape (3, *shape).
    """
    lead = int(6.0 * memory_s / step_s)
    raw = remembering(rng, (3, *shape[:-1], shape[-1] + lead), sd, memory_s, step_s)
    root = np.sqrt(3.0)
    raw[1:] = (root * raw[1:] + (1.0 - root) * following(raw[1:], memory_s, step_s)) / np.sqrt(2.0)
    return raw[..., lead:]


@dataclass(frozen=True)
class Bubbles:
    """Thermals: vortex rings that the aircraft meets at random times.

    Strength in m/s at the middle, radius in m, and the mean time between two meetings in s;
    strengths and radii are drawn from 0.5 to 1.5 times what is given.
    """

    strength_mps: float = 4.0
    radius_m: float = 600.0
    every_s: float = 25.0


def bubble_air(
    rng: np.random.Generator,
    shape: tuple[int, int],
    bubbles: Bubbles,
    step_s: float,
    way_mps: float,
) -> Array:
    """Return the air of bubbles as it meets the aircraft: along, across, upwards.

    A ring of radius R and height H = R/2 has the stream function
    w0 r^2/2 exp(-r^2/R^2 - z^2/H^2): the air rises in the middle, sinks round it,
    closes in below and spreads above, and no air is made or lost. The form is
    ours; each bubble is passed at some miss distance and some height above or
    below its middle.

    Args:
        rng: Numpy Generator.
        shape: (flights, samples).
        way_mps: Airspeed at which they are passed.

    Returns:
        Shape (3, flights, samples), m/s.
    """
    flights, count = shape
    time_s = np.arange(count) * step_s
    met = np.zeros((3, flights, count))
    for flight in range(flights):
        for middle in rng.uniform(0.0, time_s[-1], rng.poisson(time_s[-1] / bubbles.every_s)):
            strength, radius = rng.uniform(0.5, 1.5, 2) * (bubbles.strength_mps, bubbles.radius_m)
            y, z = rng.uniform(-1.2, 1.2, 2)
            along = way_mps * (time_s - middle)
            near = np.flatnonzero(np.abs(along) < 3.5 * radius)
            x = along[near] / radius
            fade = strength * np.exp(-(x**2 + y**2 + z**2))
            met[0, flight, near] += FLATNESS * fade * x * z
            met[1, flight, near] += FLATNESS * fade * y * z
            met[2, flight, near] += fade * (1.0 - x**2 - y**2)
    return met


def carried_along(gust: Array, step_s: float, response_s: float = RESPONSE_S) -> Array:
    """Return what an aircraft has taken up of a gust: a part of its ground vector.

    The rest, gust less what was taken up, is what the pitot feels, with its sign
    turned: a gust from behind lowers the airspeed.
    """
    return following(gust, response_s, step_s)
