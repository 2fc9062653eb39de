"""Invented climbs and glides of a fleet: parabolic polars, each aircraft with its own."""

from __future__ import annotations

import numpy as np

from fleetcal.fleet.points import FleetPoints

#: y = b s - a - c s^2: thrust that falls with the square of airspeed, drag of a parabolic polar.
CLIMB = (-0.038, 0.262, -0.126)
GLIDE = (-0.0085, 0.0, -0.10)


def value(law, s):
    return law[0] + law[1] * s + law[2] * s**2


def best(law, power, low=0.08, high=0.8):
    """Where y/s^m is largest, by brute force."""
    s = np.linspace(low, high, 400_001)
    return float(s[np.argmax(value(law, s) / s**power)])


def flown(law, rng, aircraft=8, points=8, spread=0.0008, u=0.0008, low=0.12, high=0.62):
    """Aircraft with drag and slope of their own about one law, one sortie each."""
    plane = np.repeat(np.arange(aircraft), points)
    s = np.tile(np.linspace(low, high, points), aircraft) * rng.uniform(0.96, 1.04, len(plane))
    own = rng.normal(0.0, spread, aircraft)[plane]
    tilt = rng.normal(0.0, 2.0 * spread, aircraft)[plane] * (s - 0.25)
    together = rng.normal(0.0, 0.3 * u, aircraft)[plane]
    y = value(law, s) + own + tilt + together + rng.normal(0.0, u, len(plane))
    return FleetPoints(
        x=s,
        y=y,
        u_own=np.full(len(plane), u),
        u_shared=np.full((len(plane), 1), 0.3 * u),
        sortie=plane,
        aircraft=plane,
        group_of=np.zeros(aircraft, dtype=np.int64),
    )
