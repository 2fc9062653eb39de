"""Why no point of a file is to be accepted of which a column stood still."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from fleetcal.flightlog import SheetLeg
from fleetcal.units import MPS_PER_KT, from_si

_FEWEST_LEGS: Final = 6
_OTHER_SPEED_MPS: Final = 10.0 * MPS_PER_KT


def stood_still_doubt(still: Mapping[str, str], airspeed_from: str, altitude_from: str) -> str:
    """Say which column that the solve uses stood still.

    Args:
        still: By quantity, in words, as `fleetcal.flightlog.Recording` has it.
        airspeed_from, altitude_from: Which of the columns are used.

    Returns:
        A reason for not accepting points; empty if none stood still.
    """
    used = (airspeed_from, "ground_speed", altitude_from, "temperature", "track")
    words = next((still[name] for name in used if name in still), "")
    return f"{words}: look at that sensor and its column in the log" if words else ""


def one_ground_speed(legs: Sequence[SheetLeg]) -> str:
    """Say that a sheet has one ground speed for every leg, at airspeeds far apart.

    Returns:
        A reason for not accepting points; empty if the ground speeds differ.
    """
    ground, air = (
        np.array([getattr(leg, name) for leg in legs])
        for name in ("ground_speed_mps", "airspeed_mps")
    )
    if len(legs) < _FEWEST_LEGS or np.ptp(ground) or np.ptp(air) < _OTHER_SPEED_MPS:
        return ""
    slow, fast = (from_si(float(speed), "kt") for speed in (air.min(), air.max()))
    return (
        f"ground speed is {from_si(float(ground[0]), 'kt'):.4g} kt on every leg, at airspeeds of "
        f"{slow:.0f} to {fast:.0f} kt: look at that column of the sheet"
    )
