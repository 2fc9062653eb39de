"""A fitted curve told in knots at some airspeeds."""

from __future__ import annotations

from typing import TypedDict

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array
from fleetcal.fleet.bands import Band
from fleetcal.fleet.fewest import FEWEST_AIRCRAFT
from fleetcal.publish.table_row import TableRow
from fleetcal.services.curves.few_of_group import few_of_group
from fleetcal.services.curves.fitted_group import FittedGroup
from fleetcal.services.curves.speed_grid import (
    bounded_correction_kt,
    flown_of,
    height_correction_ft,
    lift_at,
    reach_of,
    reached_by,
    speed_correction_kt,
    too_few_reach,
)
from fleetcal.wording import counted


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
    points = fitted.rows
    reached, flown = reach_of(points, fitted.weight_kg), flown_of(points)
    height = height_correction_ft(ias_kt, fitted.request.altitude_ft, kappa)
    return [
        RowFacts(
            altitude_correction_ft=float(height[i]),
            airframes=reached.by(speed),
            flown_by=flown.by(speed),
        )
        for i, speed in enumerate(map(float, ias_kt))
    ]


def curve_rows(fitted: FittedGroup, speeds_kt: tuple[float, ...]) -> tuple[TableRow, ...]:
    """Tell a fitted curve at some airspeeds.

    Returns:
        Empty with the reason where points of too few airframes reach the speed.
    """
    ias = np.array(speeds_kt)
    lift = lift_at(fitted.known.type, ias, fitted.weight_kg)
    mean, following = _bands(fitted, speeds_kt, lift)
    correction = speed_correction_kt(ias, mean.centre)
    bands = [
        bounded_correction_kt(ias, kappa)
        for kappa in (mean.low, mean.high, following.low, following.high)
    ]
    rows = []
    for i, facts in enumerate(row_facts(fitted, ias, mean.centre)):
        airframes, read = facts["airframes"], facts["flown_by"]
        if airframes < fitted.request.fewest:
            reason = too_few_reach(airframes, read, fitted.weight_kg, fitted.request.fewest)
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
                note=few_words(fitted, speeds_kt[i], airframes),
                **facts,
            )
        )
    return tuple(rows)


def _bands(fitted: FittedGroup, speeds_kt: tuple[float, ...], lift: Array) -> tuple[Band, Band]:
    """Return both bands; where few airframes of a large group flew, as wide as few allow.

    A level and a tilt that one airframe alone tells say nothing of how airframes differ there, so
    what is supposed of that holds where it makes a band wider.
    """
    mean, following = fitted.bands(lift)
    group = fitted.group or fitted
    few = np.array(_few_fly(fitted, group, speeds_kt))
    if group.check is None or not few.any() or fitted.request.fewest >= FEWEST_AIRCRAFT:
        return mean, following
    supposed = few_of_group(group.known, group.number)
    wide = supposed.next_band(0, lift)
    of_mean = supposed.mean_band(0, lift) if fitted.airframe is None else wide
    return _wider(mean, of_mean, few), _wider(following, wide, few)


def _few_fly(fitted: FittedGroup, group: FittedGroup, speeds_kt: tuple[float, ...]) -> list[bool]:
    """Tell which lines rest on points of few airframes of a group, and on none of its own."""
    theirs = reach_of(group.rows, fitted.weight_kg)
    few = [0 < theirs.by(speed) < FEWEST_AIRCRAFT for speed in speeds_kt]
    if fitted.airframe is None:
        return few
    own = reach_of(fitted.known.rows, fitted.weight_kg)
    return [one and not own.by(speed) for one, speed in zip(few, speeds_kt, strict=True)]


def _wider(band: Band, other: Band, where: npt.NDArray[np.bool_]) -> Band:
    low = np.where(where, np.minimum(band.low, other.low), band.low)
    high = np.where(where, np.maximum(band.high, other.high), band.high)
    return Band(band.centre, low, high)


def few_words(fitted: FittedGroup, ias_kt: float, airframes: int) -> str:
    """Say what a line rests on where that is less than a reader would suppose."""
    if fitted.airframe is None:
        if airframes >= FEWEST_AIRCRAFT:
            return ""
        who = counted(airframes, "airframe")
        return f"flown by {who} only, which is why the bands are wide"
    own = reached_by(fitted.known.rows, ias_kt, fitted.weight_kg)
    return "" if own else f"{fitted.airframe.tag} has not flown it: this is from its group"
