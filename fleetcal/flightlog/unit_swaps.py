"""Which unit numbers seem to be in, when they are wrong by a factor."""

from __future__ import annotations

import math
from typing import Final

from fleetcal.units import TO_SI

_FAMILIES: Final = (("kt", "mph", "km/h", "m/s"), ("ft", "m"))


def likely_unit(ratio: float, unit: str, within: float = 0.05) -> str | None:
    """Return the unit that would explain values too large or too small by a factor.

    Args:
        ratio: Values by the stated unit over what they should be.
        unit: The stated unit.
        within: Largest relative distance from the factor of a swap; a swap of knots and miles an
            hour makes 15 %.

    Returns:
        None if no other unit of the same kind explains the factor.
    """
    family = next((names for names in _FAMILIES if unit in names), ())
    if not ratio > 0.0 or not math.isfinite(ratio):
        return None
    for other in family:
        expected = TO_SI[unit][0] / TO_SI[other][0]
        if other != unit and abs(math.log(ratio / expected)) < within:
            return other
    return None
