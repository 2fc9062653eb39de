"""Why the answer of a manoeuvre must not count: two estimates of it that disagree.

The point is not accepted where an answer whose weights no gust enters differs, or the first
half differs from the second.
"""

from __future__ import annotations

import math
from dataclasses import fields
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.ground_vectors import largest_track_gap
from fleetcal.airdata.manoeuvre_solution import ManoeuvreSolution, solve_manoeuvre
from fleetcal.airdata.position_error import corrections
from fleetcal.airdata.reading import Readings
from fleetcal.services.flights.corrections_found import coverage_factor
from fleetcal.units import from_si

#: Two estimates may differ by this much whatever they say of themselves, kt.
ALWAYS_ALIKE_KT: Final = 0.5
#: Two estimates that differ by more than this are not believed, kt.
NEVER_ALIKE_KT: Final = 3.0
#: A half is compared where it goes round: largest angle without a track, rad.
_GOES_ROUND: Final = float(np.radians(120.0))


def manoeuvre_doubt(
    time_s: Array, east_mps: Array, north_mps: Array, readings: Readings, found: ManoeuvreSolution
) -> str:
    """Return why a solved manoeuvre must not count, or an empty string.

    Its answer is compared with the one whose weights no gust enters, and its
    first half with its second where both go round the compass.

    Args:
        time_s, east_mps, north_mps: Shape (n,).
        readings: Shape (n,).
        found: Of these.

    Returns:
        One sentence with the figure that decided.
    """
    limit = coverage_factor(found.degrees_of_freedom) * found.u_kappa
    knots = _knots_per_kappa(readings, found.kappa)
    apart = abs(found.other_kappa - found.kappa) * knots
    if _disagree(apart, limit * knots):
        return (
            f"two ways of weighing the samples give corrections {apart:.1f} kt apart: the air is "
            "too rough for a manoeuvre"
        )
    half = len(time_s) // 2
    one, two = (
        _half(part, time_s, east_mps, north_mps, readings)
        for part in (slice(None, half), slice(half, None))
    )
    if one is None or two is None:
        return ""
    apart = abs(one.kappa - two.kappa) * knots
    parts = [coverage_factor(h.degrees_of_freedom) * h.u_kappa * knots for h in (one, two)]
    if _disagree(apart, math.hypot(*parts)):
        return (
            f"its first and second half give corrections {apart:.1f} kt apart: "
            "the wind or the power changed"
        )
    return ""


def _disagree(apart_kt: float, limit_kt: float) -> bool:
    return apart_kt > NEVER_ALIKE_KT or apart_kt > max(limit_kt, ALWAYS_ALIKE_KT)


def _knots_per_kappa(readings: Readings, kappa: float) -> float:
    speed = float(np.mean(readings.airspeed_mps))
    moved = corrections(speed, float(np.mean(readings.altitude_m)), kappa)
    return from_si(abs(float(moved.airspeed_per_kappa_mps)), "kt")


def _half(
    part: slice, time_s: Array, east_mps: Array, north_mps: Array, readings: Readings
) -> ManoeuvreSolution | None:
    if largest_track_gap(np.arctan2(east_mps[part], north_mps[part])) > _GOES_ROUND:
        return None
    names = [field.name for field in fields(Readings)]
    cut = Readings(
        **{name: np.broadcast_to(getattr(readings, name), time_s.shape)[part] for name in names}
    )
    found = solve_manoeuvre(time_s[part], east_mps[part], north_mps[part], cut, "steady")
    return found if found.converged else None
