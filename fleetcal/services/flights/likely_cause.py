"""Why no run may have been found in a log, the likeliest cause first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from fleetcal.flightlog import LegSettings
from fleetcal.services.flights.cut_legs import Recorded
from fleetcal.units import MPS_PER_KT

_ASSUMED: Final = "states no unit"
_FEWEST: Final = 10


def likely_cause(recorded: Recorded, limits: LegSettings, warnings: Sequence[str]) -> str:
    """Return what in a log most likely hides its legs.

    Args:
        warnings: What was assumed or left out when the log was read.

    Returns:
        Empty where nothing speaks for the log rather than for the flying.
    """
    complete = np.isfinite(recorded.airspeed_mps) & np.isfinite(recorded.altitude_m)
    complete &= np.isfinite(recorded.ground_speed_mps) & np.isfinite(recorded.track_rad)
    if complete.sum() < _FEWEST:
        return f"only {int(complete.sum())} rows have airspeed, altitude, ground speed and track"
    fastest = float(np.percentile(recorded.airspeed_mps[complete], 95.0))
    if fastest < limits.slowest_mps:
        return (
            f"the airspeed hardly passes {fastest / MPS_PER_KT:.0f} kt, and legs are looked for "
            f"from {limits.slowest_mps / MPS_PER_KT:.0f} kt on: check its unit"
        )
    interval = float(np.median(np.diff(recorded.t_s[complete])))
    if interval * limits.fewest_samples > limits.shortest_s:
        return (
            f"the log has one complete row every {interval:.0f} s, and a leg needs "
            f"{limits.fewest_samples}"
        )
    if 2 * complete.sum() < complete.size:
        share = 100.0 * float(1.0 - complete.mean())
        return f"{share:.0f} % of the rows lack airspeed, altitude, ground speed or track"
    return next((f"a unit that was assumed: {w}" for w in warnings if _ASSUMED in w), "")
