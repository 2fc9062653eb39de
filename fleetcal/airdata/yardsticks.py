"""Limits that rules have set for the errors of airspeed and altimeter systems.

For information beside a result, never a verdict of airworthiness: the rules
speak of one configuration, speed range and amendment each, and the present text
of 14 CFR part 23 has no such figures.

Sources, and how sure: the text of 14 CFR 23.1323(b) before 2017 (three percent
of calibrated airspeed or five knots, whichever is greater) was seen. Of
23.1325(e) before 2017 only "+/-30 feet per 100 knot speed" was seen; that the
error need not be less than 30 feet is from memory, supported by the parallel
wording of 29.1325(f), which was seen. 23.1325(b)(2)(i) (loss of 100 feet in one
minute) was seen; that 14 CFR part 43, appendix E, asks the same is from memory.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.position_error import altitude_correction, kappa_from_airspeeds
from fleetcal.units import M_PER_FT, MPS_PER_KT

AIRSPEED_SOURCE: Final = "14 CFR 23.1323(b) before 2017"
ALTITUDE_SOURCE: Final = "14 CFR 23.1325(e) before 2017"

#: Largest loss of indicated altitude in one minute, static system closed and
#: evacuated to a reading 1,000 ft above the ground, unpressurised aeroplane.
LEAK_LIMIT_M: Final = 100.0 * M_PER_FT
LEAK_SOURCE: Final = "14 CFR 23.1325(b)(2)(i) before 2017; 14 CFR part 43, appendix E"


def largest_airspeed_error(calibrated_mps: npt.ArrayLike) -> Array:
    """Return the airspeed error that 23.1323(b) allowed: 3 % or 5 kt, the greater.

    Args:
        calibrated_mps (array_like, any shape): Vc, m/s.

    Returns:
        Same shape: m/s.
    """
    speed = np.asarray(calibrated_mps, dtype=np.float64)
    return np.asarray(np.maximum(0.03 * speed, 5.0 * MPS_PER_KT))


def largest_altitude_error(speed_mps: npt.ArrayLike) -> Array:
    """Return the altitude error that 23.1325(e) allowed: 30 ft per 100 kt, at least 30 ft.

    Args:
        speed_mps (array_like, any shape): Airspeed, m/s.

    Returns:
        Same shape: At sea level in the standard atmosphere, m.
    """
    hundreds = np.asarray(speed_mps, dtype=np.float64) / (100.0 * MPS_PER_KT)
    return np.asarray(30.0 * M_PER_FT * np.maximum(hundreds, 1.0))


def sea_level_altitude_error(airspeed_mps: npt.ArrayLike, calibrated_mps: npt.ArrayLike) -> Array:
    """Return the altitude correction at sea level that belongs to an airspeed correction.

    Args:
        airspeed_mps, calibrated_mps (array_like, broadcastable): Vic and Vc, m/s.

    Returns:
        Broadcast shape: dHpc, m: for the one static-pressure error that explains both.

    Raises:
        OutOfRangeError: If an airspeed is out of range.
    """
    kappa = kappa_from_airspeeds(airspeed_mps, calibrated_mps)
    return altitude_correction(airspeed_mps, 0.0, kappa)
