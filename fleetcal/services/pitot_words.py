"""What an error of the pitot would do, which every result supposes away."""

from __future__ import annotations

import numpy as np

from fleetcal.airdata.position_error import airspeed_correction, altitude_correction
from fleetcal.units import from_si, to_si

_SHARE = 0.01


def pitot_error_words(ias_kt: float, altitude_ft: float) -> str:
    """Return how large a pitot error of 1 % of impact pressure is, and what it would spoil.

    An airspeed correction is the difference that was measured, wherever it came
    from. An altimeter correction is worked out from it as if all of it were static
    pressure; so the part that is the pitot's would be in it wrongly.

    Args:
        altitude_ft: Pressure altitude.

    Returns:
        One sentence.
    """
    speed, share = np.asarray(to_si(ias_kt, "kt")), np.asarray(_SHARE)
    knots = float(from_si(airspeed_correction(speed, share), "kt"))
    height = np.asarray(to_si(altitude_ft, "ft"))
    feet = float(from_si(altitude_correction(speed, height, share), "ft"))
    return (
        "Altimeter corrections assume an error-free pitot: a pitot error of 1 % of the impact "
        f"pressure, which is {abs(knots):.1f} kt at {ias_kt:.0f} kt, would leave airspeed "
        "corrections right "
        f"and make altimeter corrections wrong by {abs(feet):.0f} ft there."
    )
