"""One line that sets results beside limits that rules have had, for information."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fleetcal.airdata.yardsticks import (
    AIRSPEED_SOURCE,
    ALTITUDE_SOURCE,
    largest_airspeed_error,
    largest_altitude_error,
    sea_level_altitude_error,
)
from fleetcal.units import from_si, to_si


def yardstick_line(vic_kt: Sequence[float], cas_kt: Sequence[float]) -> str:
    """Return where the corrections come nearest to, or go furthest beyond, the limits.

    Args:
        vic_kt, cas_kt: Indicated airspeeds and the calibrated ones that belong to them.

    Returns:
        Empty if there are none.
    """
    if not vic_kt:
        return ""
    vic, cas = np.array(vic_kt), np.array(cas_kt)
    speeds = (to_si(vic, "kt"), to_si(cas, "kt"))
    airspeed_limit = np.asarray(from_si(largest_airspeed_error(speeds[1]), "kt"))
    airspeed = np.abs(cas - vic)
    altitude_limit = np.asarray(from_si(largest_altitude_error(speeds[1]), "ft"))
    altitude = np.abs(np.asarray(from_si(sea_level_altitude_error(*speeds), "ft")))
    i = int(np.argmax(airspeed / airspeed_limit))
    j = int(np.argmax(altitude / altitude_limit))
    return (
        "Yardsticks, for information, not a verdict of airworthiness: airspeed error "
        f"{airspeed[i]:.1f} kt at {vic[i]:.0f} kt against 3 % or 5 kt, there "
        f"{airspeed_limit[i]:.1f} kt ({AIRSPEED_SOURCE}); altitude error at sea level "
        f"{altitude[j]:.0f} ft at {vic[j]:.0f} kt against 30 ft per 100 kt, at least 30 ft, there "
        f"{altitude_limit[j]:.0f} ft ({ALTITUDE_SOURCE}, in part from memory)."
    )
