"""A fitted curve told in knots at some airspeeds."""

from __future__ import annotations

from typing import TypedDict

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.fleet.pooled import FEWEST_AIRCRAFT
from fleetcal.publish.table_row import TableRow
from fleetcal.services.curves.fitted_group import FittedGroup
from fleetcal.services.curves.speed_grid import (
    bounded_correction_kt,
    flown_by,
    height_correction_ft,
    lift_at,
    reached_by,
    speed_correction_kt,
    too_few_reach,
)


class RowFacts(TypedDict):
    """What a row says beside speeds, correction and bands."""

    altitude_correction_ft: float
    airframes: int
    flown_by: int


def row_facts(fitted: FittedGroup, ias_kt: Array, kappa: Array) -> list[RowFacts]:
    """Return what rows say of indicated airspeeds, whichever way a table is read.

    Args:
        ias_kt, kappa: Airspeeds, and the mean error coefficient there.
    """
    points = fitted.known.rows_of(fitted.number)
    height = height_correction_ft(ias_kt, fitted.request.altitude_ft, kappa)
    return [
        RowFacts(
            altitude_correction_ft=float(height[i]),
            airframes=reached_by(points, speed, fitted.weight_kg),
            flown_by=flown_by(points, speed),
        )
        for i, speed in enumerate(map(float, ias_kt))
    ]


def curve_rows(fitted: FittedGroup, speeds_kt: tuple[float, ...]) -> tuple[TableRow, ...]:
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
        bounded_correction_kt(ias, kappa)
        for kappa in (mean.low, mean.high, following.low, following.high)
    ]
    rows = []
    for i, facts in enumerate(row_facts(fitted, ias, mean.centre)):
        airframes, read = facts["airframes"], facts["flown_by"]
        if airframes < FEWEST_AIRCRAFT:
            reason = too_few_reach(airframes, read, fitted.weight_kg)
            rows.append(
                TableRow(ias_kt=speeds_kt[i], airframes=airframes, flown_by=read, note=reason)
            )
            continue
        rows.append(
            TableRow(
                ias_kt=speeds_kt[i],
                cas_kt=float(speeds_kt[i] + correction[i]),
                correction_kt=float(correction[i]),
                mean_low_kt=float(bands[0][i]),
                mean_high_kt=float(bands[1][i]),
                next_low_kt=float(bands[2][i]),
                next_high_kt=float(bands[3][i]),
                **facts,
            )
        )
    return tuple(rows)
