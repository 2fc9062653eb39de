"""Headings of the legs of a run, with the track and ground speed to be expected.

What a run tells is best when its headings spread evenly over the circle, at any
wind: the ground vectors then lie evenly on a circle about the wind. Tracks at right
angles would crowd the headings towards a strong wind at a low speed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import pressure_from_altitude, standard_temperature
from fleetcal.airdata.pitot_static import (
    impact_pressure_from_airspeed,
    mach_from_pressure_ratio,
    true_airspeed,
)
from fleetcal.errors import ImplausibleError
from fleetcal.units import M_PER_FT, MPS_PER_KT

#: Legs of a run, and their times, s: common practice, no published source.
LEGS: Final = 4
SETTLE_S, LEG_S, TURN_S, SPEED_CHANGE_S = 20.0, 60.0, 30.0, 120.0
#: Strongest wind as a part of the true airspeed that can still be flown sensibly.
STRONGEST_WIND: Final = 0.7
_FULL_TURN_DEG: Final = 360.0


@dataclass(frozen=True)
class PlannedLeg:
    """One leg; directions from the same north as the wind."""

    heading_deg: float
    track_deg: float
    ground_speed_kt: float


def standard_tas_kt(cas_kt: float, altitude_ft: float) -> float:
    """Return the true airspeed in standard air at a pressure altitude."""
    pressure = pressure_from_altitude(altitude_ft * M_PER_FT)
    impact = impact_pressure_from_airspeed(cas_kt * MPS_PER_KT)
    mach = mach_from_pressure_ratio(impact / pressure)
    return float(true_airspeed(mach, standard_temperature(altitude_ft * M_PER_FT))) / MPS_PER_KT


def legs_in_wind(
    tas_kt: float,
    wind_from_deg: float | None,
    wind_kt: float | None,
    *,
    backwards: bool = False,
) -> tuple[PlannedLeg, ...]:
    """Return the legs of a run, the first into the wind, or the last.

    A run flown backwards begins on the heading on which the one before ended. That saves a turn,
    no more: since all runs are solved under one moving wind, the order of headings changed the
    curve by nothing that could be measured (`python -m tests.airdata.simulations.card_orders`).

    Args:
        wind_from_deg: Legs begin at north if None.
        wind_kt: Calm if None.
        backwards: Whether the leg into the wind is the last.

    Raises:
        ImplausibleError: If the wind is too strong for the airspeed.
    """
    blowing = wind_kt or 0.0
    if blowing > STRONGEST_WIND * tas_kt:
        raise ImplausibleError(
            f"a wind of {blowing:.0f} kt is too strong for a run at {tas_kt:.0f} kt true airspeed",
            "wait for less wind, or choose another altitude",
        )
    first = wind_from_deg or 0.0
    wind = -blowing * np.exp(1j * np.radians(first))
    legs = []
    for number in range(LEGS):
        heading = (first + number * _FULL_TURN_DEG / LEGS) % _FULL_TURN_DEG
        ground = tas_kt * np.exp(1j * np.radians(heading)) + wind
        track = float(np.degrees(np.angle(ground))) % _FULL_TURN_DEG
        legs.append(PlannedLeg(heading, track, float(abs(ground))))
    return tuple(reversed(legs)) if backwards else tuple(legs)


def minutes_needed(runs: int) -> float:
    """Return how long so many runs take, without the flight to the place and back."""
    return runs * (LEGS * (SETTLE_S + LEG_S + TURN_S) + SPEED_CHANGE_S) / 60.0
