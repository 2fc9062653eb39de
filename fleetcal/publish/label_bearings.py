"""Where about a circle labels of its marks stand, moved apart where they would meet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

_ROUNDS = 20


def label_bearings(bearings: Sequence[float]) -> list[float]:
    """Return the bearings of labels from the centre.

    Args:
        bearings: Of the marks, rad from north.
    """
    places = [bearing % math.tau for bearing in bearings]
    order = sorted(range(len(places)), key=lambda i: places[i])
    pairs = [(one, other, 0.0) for one, other in pairwise(order)]
    if len(order) > 2:
        pairs.append((order[-1], order[0], math.tau))
    for _ in range(_ROUNDS):
        for one, other, round_once in pairs:
            gap = places[other] + round_once - places[one]
            short = _apart(places[one] + gap / 2.0) - gap
            if short > 0.0:
                places[one] -= short / 2.0
                places[other] += short / 2.0
    return places


def _apart(bearing: float) -> float:
    """Return the angle that labels need: they are wide, so most above and below the circle."""
    return math.radians(14.0 + 22.0 * math.cos(bearing) ** 2)
