"""The first sentences of an answer about climbs, glides and cruise, as a pilot reads them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.services.curves.answer_words import ANOTHER, MEAN

if TYPE_CHECKING:
    from fleetcal.services.performance.cruise_table import CruiseTable
    from fleetcal.services.performance.pool_climbs import PooledClimbs


def climbs_answer(found: PooledClimbs) -> Iterator[str]:
    """Yield each best speed, as IAS too where one static source shows it."""
    for best in found.speeds:
        if best.cas_kt is None:
            continue
        shown = [one for one in found.indicated if one.speed == best.speed and one.ias_kt]
        does = "climbing" if found.kind == "climb" else "sinking"
        rate = "" if best.rate_ftmin is None else f", {does} {abs(best.rate_ftmin):.0f} ft/min"
        cas = f"{best.cas_kt:.0f} kt CAS"
        if best.low_kt is not None and best.high_kt is not None:
            cas += f" ({best.low_kt:.0f} to {best.high_kt:.0f} kt)"
        ias = f"{shown[0].ias_kt:.0f} kt IAS, which is " if len(shown) == 1 else ""
        yield f"{best.speed[0].upper()}{best.speed[1:]} is at {ias}{cas}{rate}."
    if all(best.cas_kt is None for best in found.speeds):
        yield f"No best speed lies within the speeds flown in {found.kind}s."


def cruise_answer(found: CruiseTable) -> str:
    """Return the true airspeed of a line in the middle of the table, with its bands."""
    known = [line for line in found.lines if line.tas_kt is not None]
    if not known:
        return "No true airspeed can be given: nobody flew so fast, or so slowly, at these powers."
    one = known[len(known) // 2]
    mean = _range(one.mean_low_kt, one.mean_high_kt)
    where = f"At {one.power_pct:.0f} % and {one.pressure_altitude_ft:.0f} ft"
    if found.airframe:
        return f"{where} {found.airframe} flies {one.tas_kt:.0f} kt true ({mean})."
    another = ""
    if one.next_low_kt is not None:
        another = f"; {ANOTHER}: {_range(one.next_low_kt, one.next_high_kt)}"
    return f"{where} the true airspeed is {one.tas_kt:.0f} kt ({MEAN}: {mean}{another})."


def _range(low_kt: float | None, high_kt: float | None) -> str:
    """Return a 95 % band in words, which may reach beyond what was flown."""
    if low_kt is None or high_kt is None:
        return "its 95 % band goes beyond what was flown"
    return f"{low_kt:.0f} to {high_kt:.0f} kt"
