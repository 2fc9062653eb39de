"""The leg scatter of earlier runs, for a flight whose legs show none of their own.

What the pieces of a flight show is combined with what is supposed, which weighs as much as
three pieces. Where wind and kappas meet every piece exactly, as with one run of three legs
written by hand, the scatter of earlier runs of the store is supposed, once those have ten spare
legs; a run whose spare legs disagree by more than 1.5 kt lends nothing, since its wind changed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from fleetcal.store import pooled_leg_scatter
from fleetcal.units import to_si

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

#: Spare legs that earlier runs must have before their scatter is borrowed.
FEWEST_SPARE_LEGS: Final = 10


def borrowed_scatter(session: Session) -> float | None:
    """Return the scatter of one leg found in earlier runs, m/s; None if they are too few."""
    squares, spare = pooled_leg_scatter(session)
    if spare < FEWEST_SPARE_LEGS:
        return None
    return float(to_si(float(np.sqrt(squares / spare)), "kt"))
