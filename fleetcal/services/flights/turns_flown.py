"""What is flown between the legs of a run: turns at the same airspeed, which count too.

A gentle turn shows the air vector in every direction between two legs. It is taken entirely or
not at all, by how it was flown on the whole, so that no gust chooses among its samples.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import GRAVITY_MPS2
from fleetcal.errors import ImplausibleError
from fleetcal.services.flights.cut_legs import Recorded, cut_leg
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.units import M_PER_FT, MPS_PER_KT

#: A longer pause between two legs is no turn, s.
LONGEST_S: Final = 150.0
#: The mean airspeed may be so far from that of the two legs, kt, and the altitude, m.
APART_KT: Final = 4.0
APART_M: Final = 150.0 * M_PER_FT
#: The mean load factor of a turn that counts: lift, and the port's error with it, is that of level
#: flight but for a few percent.
LARGEST_LOAD: Final = 1.12
_SHORTEST_S: Final = 8.0


def turns_between(
    recorded: Recorded, legs: Sequence[FlownLeg], found: Sequence[FlownLeg] = ()
) -> tuple[FlownLeg | None, ...]:
    """Return what was flown from each leg to the next; None where it does not count.

    Args:
        legs: Of one run, in order.
        found: All legs of the flight. What one of them lies in is no turn: somebody may have left
            that leg out.
    """
    middles = [float(leg.time_s[0] + leg.time_s[-1]) / 2.0 for leg in found]
    return tuple(
        None
        if any(before.time_s[-1] < middle < after.time_s[0] for middle in middles)
        else _between(recorded, before, after)
        for before, after in pairwise(legs)
    )


def _between(recorded: Recorded, before: FlownLeg, after: FlownLeg) -> FlownLeg | None:
    start_s, stop_s = before.time_s[-1], after.time_s[0]
    if not _SHORTEST_S <= stop_s - start_s <= LONGEST_S:
        return None
    start = int(np.searchsorted(recorded.t_s, start_s, side="right"))
    stop = int(np.searchsorted(recorded.t_s, stop_s, side="left"))
    try:
        flown = cut_leg(recorded, start, stop)
    except (ImplausibleError, IndexError):
        return None
    return flown if _is_like(flown, before, after) else None


def _is_like(flown: FlownLeg, before: FlownLeg, after: FlownLeg) -> bool:
    speed = (before.airspeed_mps.mean() + after.airspeed_mps.mean()) / 2.0
    height = (before.altitude_m.mean() + after.altitude_m.mean()) / 2.0
    if abs(flown.airspeed_mps.mean() - speed) > APART_KT * MPS_PER_KT:
        return False
    if np.abs(flown.altitude_m - height).max() > APART_M:
        return False
    lasting = float(flown.time_s[-1] - flown.time_s[0])
    if lasting < _SHORTEST_S:
        return False
    turned = np.ptp(np.unwrap(np.arctan2(flown.east_mps, flown.north_mps)))
    rate = float(turned) / lasting * float(np.hypot(flown.east_mps, flown.north_mps).mean())
    return float(np.hypot(1.0, rate / GRAVITY_MPS2)) <= LARGEST_LOAD
