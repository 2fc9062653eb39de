"""What the climbs or glides of one flight say, in sentences."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from fleetcal.services.flights.speed_answers import KT_AND_FT, PrintedUnits
from fleetcal.wording import counted, decimal

if TYPE_CHECKING:
    from fleetcal.records import Climb
    from fleetcal.services.performance.reduce_climbs import ReducedClimbs

_TO_95: Final = 1.96
_MOST: Final = 8


def climb_sentences(found: ReducedClimbs, units: PrintedUnits = KT_AND_FT) -> tuple[str, ...]:
    """Return what was measured at each airspeed, and which of them was best.

    Args:
        units: Of the airspeeds; rates are in ft/min.
    """
    good = sorted((row for row in found.climbs if row.accepted), key=lambda row: row.vic_kt)
    if not good:
        each = counted(found.found, f"steady {found.kind}")
        return (f"{each} found, and none can be relied on; why is below the table.",)
    sentences = [_measured(row, found.kind, units, is_first=row is good[0]) for row in good[:_MOST]]
    if len(good) > _MOST:
        sentences.append(f"The table has all {len(good)}.")
    if len(good) > 1:
        sentences.append(_best(good, found.kind, units))
    return tuple(sentences)


def _measured(row: Climb, kind: str, units: PrintedUnits, *, is_first: bool) -> str:
    rate = abs(round(row.rate_ftmin))
    band = round(_TO_95 * math.hypot(row.u_own_ftmin, row.u_shared_ftmin))
    way = "climbs" if row.rate_ftmin > 0.0 else "sinks"
    who = "the aircraft" if is_first else "it"
    at = f"At {decimal(units.of_speed(row.vic_kt))} {units.speed}"
    reach = f"±{band}{' at 95 %' if is_first else ''}"
    return f"{at} {who} {way} {rate} ft/min ({reach})."


def _best(good: list[Climb], kind: str, units: PrintedUnits) -> str:
    best = max(good, key=lambda row: row.rate_ftmin)
    what = "climbed fastest" if kind == "climb" else "sank least"
    speed = f"{decimal(units.of_speed(best.vic_kt))} {units.speed}"
    return f"Of the speeds flown it {what} at {speed}; another speed between may be better."
