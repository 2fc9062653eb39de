"""What every printed result carries: assumptions and cautions."""

from __future__ import annotations

from typing import Final

from fleetcal.publish.cautions import (
    CAUTIONS,
    CRUISE_ASSUMPTION,
    CURVE_ASSUMPTION,
    PITOT_ASSUMPTION,
    RATE_ASSUMPTION,
    SHORT_CAUTION,
)

__all__ = ["ASSUMPTIONS", "CAUTIONS", "PITOT_ASSUMPTION", "SHORT_CAUTION"]

#: What a result supposes, by what it tells of.
ASSUMPTIONS: Final = {
    "reading": (PITOT_ASSUMPTION,),
    "curve": (PITOT_ASSUMPTION, CURVE_ASSUMPTION),
    "rate": (RATE_ASSUMPTION,),
    "cruise": (CRUISE_ASSUMPTION,),
}
