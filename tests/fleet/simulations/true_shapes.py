"""True mean curves that no quadratic follows.

Each is a departure in knots over airspeed, added to the quadratic of the plan. It is scaled by
how far it lies, where that is farthest, from the nearest quadratic in s: the one of least squares
in knots over all airspeeds from 70 to 140 kt. None is of the smooth kind that the fit supposes:
an exponential rise towards the stall, a kink as where a slipstream or a trim change sets in, and a
wave that has its slow half wave as long as the fast one in knots, not in s.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Final

import numpy as np

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.points import Array

FLOWN_KT: Final = np.linspace(70.0, 140.0, 281)
RISE: Final = 0.1
KINK_KT: Final = 105.0
WAVE_KT: Final = 45.0

SHAPES: Final[dict[str, Callable[[Array, Array], Array]]] = {
    "exponential": lambda _, lift: np.exp((lift - 0.25) / RISE),
    "kinked": lambda speed, _: np.maximum(speed - KINK_KT, 0.0),
    "wavy": lambda speed, _: np.sin(2.0 * np.pi * (speed - 70.0) / WAVE_KT),
}


def shape_kt(name: str, speed_kt: Array, lift: Array) -> Array:
    """Return the departure of a shape, in knots, that is one knot off the nearest quadratic.

    Args:
        name: Of `SHAPES`.
        speed_kt, lift (n,): Airspeeds, and s there.
    """
    return SHAPES[name](speed_kt, lift) / _farthest_kt(name)


@cache
def _farthest_kt(name: str) -> float:
    """Return how far a shape as it stands lies from the nearest quadratic, in knots."""
    lift = (50.0 / FLOWN_KT) ** 2
    shape = SHAPES[name](FLOWN_KT, lift)
    quadratic = curve_basis(lift, 2) * FLOWN_KT[:, None]
    nearest = quadratic @ np.linalg.lstsq(quadratic, shape)[0]
    return float(np.max(np.abs(shape - nearest)))
