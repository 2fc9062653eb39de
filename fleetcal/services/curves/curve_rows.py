"""A fitted curve told in knots at some airspeeds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fleetcal.fleet.pooled import FEWEST_AIRCRAFT
from fleetcal.services.curves.speed_grid import (
    flown_by,
    height_correction_ft,
    lift_at,
    reached_by,
    speed_correction_kt,
    too_few_reach,
)

if TYPE_CHECKING:
    from fleetcal.services.curves.pooled_curve import FittedGroup


@dataclass(frozen=True, kw_only=True)
class CurveRow:
    """The curve at one airspeed; empty with the reason in `note` where it is not known.

    `mean_...` is the 95 % band of the group's mean curve, `next_...` the 95 %
    band for the next aircraft of the group, both of the correction in knots.
    `airframes` counts those whose points reach the speed at the weight told, which
    decides whether it is told; `flown_by` those whose indicator really showed it, at
    the weights they flew. `light_correction_kt` is the correction at the lightest
    weight flown, where that matters.
    """

    ias_kt: float
    cas_kt: float | None
    correction_kt: float | None
    mean_low_kt: float | None
    mean_high_kt: float | None
    next_low_kt: float | None
    next_high_kt: float | None
    altitude_correction_ft: float | None
    airframes: int
    note: str
    flown_by: int
    light_correction_kt: float | None = None


def curve_rows(fitted: FittedGroup, speeds_kt: tuple[float, ...]) -> tuple[CurveRow, ...]:
    """Tell a fitted curve at some airspeeds.

    Returns:
        Empty with the reason where points of fewer than three airframes reach the speed.
    """
    ias = np.array(speeds_kt)
    lift = lift_at(fitted.known.type, ias, fitted.weight_kg)
    mean = fitted.fit.mean_band(fitted.number, lift)
    following = fitted.fit.next_band(fitted.number, lift)
    correction = speed_correction_kt(ias, mean.centre)
    bands = [
        speed_correction_kt(ias, np.maximum(kappa, -0.99))
        for kappa in (mean.low, mean.high, following.low, following.high)
    ]
    height = height_correction_ft(ias, fitted.request.altitude_ft, mean.centre)
    rows = fitted.known.rows_of(fitted.number)
    told = []
    for i, speed in enumerate(speeds_kt):
        airframes = reached_by(rows, speed, fitted.weight_kg)
        read = flown_by(rows, speed)
        if airframes < FEWEST_AIRCRAFT:
            told.append(_empty(speed, airframes, read, fitted.weight_kg))
            continue
        told.append(
            CurveRow(
                ias_kt=speed,
                cas_kt=float(speed + correction[i]),
                correction_kt=float(correction[i]),
                mean_low_kt=float(bands[0][i]),
                mean_high_kt=float(bands[1][i]),
                next_low_kt=float(bands[2][i]),
                next_high_kt=float(bands[3][i]),
                altitude_correction_ft=float(height[i]),
                airframes=airframes,
                note="",
                flown_by=read,
            )
        )
    return tuple(told)


def _empty(speed_kt: float, airframes: int, read: int, weight_kg: float) -> CurveRow:
    return CurveRow(
        ias_kt=speed_kt,
        cas_kt=None,
        correction_kt=None,
        mean_low_kt=None,
        mean_high_kt=None,
        next_low_kt=None,
        next_high_kt=None,
        altitude_correction_ft=None,
        airframes=airframes,
        note=too_few_reach(airframes, read, weight_kg),
        flown_by=read,
    )
