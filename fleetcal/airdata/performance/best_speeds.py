"""The speeds a pilot asks of a climb or a glide, from a curve over CAS.

True airspeed is in proportion to CAS at one altitude (to the accuracy of CAS =
EAS), so the speed of the best angle or the best glide is the same in both.
Rates may be in any unit; the ratio to airspeed is the caller's.
"""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.airdata.performance.best_point import BestPoint, best_point
from fleetcal.airdata.performance.fitted_polynomial import FittedPolynomial


@dataclass(frozen=True)
class ClimbSpeeds:
    """Best rate and best angle of climb."""

    best_rate: BestPoint
    best_angle: BestPoint


@dataclass(frozen=True)
class GlideSpeeds:
    """Least sink and flattest glide."""

    least_sink: BestPoint
    best_glide: BestPoint


def climb_speeds(rate: FittedPolynomial, level: float = 0.95) -> ClimbSpeeds:
    """Return the speeds of best rate and best angle.

    Args:
        rate: Rate of climb over CAS.
        level: Coverage of the intervals.

    Raises:
        FitError: If a speed lies outside what was flown.
    """
    return ClimbSpeeds(best_point(rate, 0.0, level), best_point(rate, 1.0, level))


def glide_speeds(sink: FittedPolynomial, level: float = 0.95) -> GlideSpeeds:
    """Return the speeds of least sink and of the flattest glide.

    Args:
        sink: Sink over CAS, positive downwards.
        level: Coverage of the intervals.

    Raises:
        FitError: If a speed lies outside what was flown.
    """
    return GlideSpeeds(
        best_point(sink, 0.0, level, least=True), best_point(sink, 1.0, level, least=True)
    )
