"""Which aircraft leave the pool because they stand outside it.

A pool of ten with one aircraft that is off by 8 kt has a mean that is off by up
to 1 kt and bands more than twice as wide as the others need. So aircraft that
were found outside are left out, while three others remain in their group.
"""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from fleetcal.fleet.fewest import FEWEST_AIRCRAFT
from fleetcal.fleet.points import Index


def may_leave(group_of: Index, outside: Collection[int]) -> frozenset[int]:
    """Return which aircraft leave the pool.

    Args:
        group_of: Shape (aircraft,).
        outside (collection of int): Aircraft found outside their group.

    Returns:
        Those of `outside` whose group keeps enough aircraft for a curve.
    """
    gone = np.zeros(len(group_of), dtype=bool)
    gone[list(outside)] = True
    left = np.bincount(group_of[~gone], minlength=int(group_of.max()) + 1)
    return frozenset(int(a) for a in np.flatnonzero(gone) if left[group_of[a]] >= FEWEST_AIRCRAFT)
