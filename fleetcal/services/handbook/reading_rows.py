"""The lines of a table that goes from CAS to IAS, by solving the pooled curve."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fleetcal.fleet.pooled import FEWEST_AIRCRAFT
from fleetcal.publish import ReadingRow
from fleetcal.services.curves.speed_grid import flown_by, height_correction_ft, reached_by
from fleetcal.services.handbook.fitted_port import FittedPort


def reading_rows(
    port: FittedPort, step_kt: float, light_weight_kg: float | None = None
) -> tuple[ReadingRow, ...]:
    """Return what the indicator shows at round calibrated airspeeds.

    Args:
        step_kt: Distance of the calibrated airspeeds.
        light_weight_kg: A second weight for which the readings are told.

    Returns:
        Over the speeds flown; empty with the reason where there is no answer.

    Raises:
        FitError: As `FittedPort.solve`.
    """
    ends = port.cas_kt(np.array(port.reach))
    count = np.arange(np.floor(ends[0] / step_kt), np.ceil(ends[1] / step_kt) + 1.0)
    speeds = count[count > 0.0] * step_kt
    solved = port.solve(speeds)
    columns = (
        solved.ias_kt,
        solved.mean_low_kt,
        solved.mean_high_kt,
        solved.next_low_kt,
        solved.next_high_kt,
    )
    light = np.full(speeds.shape, np.nan)
    if light_weight_kg is not None:
        light = FittedPort(replace(port.fitted, weight_kg=light_weight_kg)).solve(speeds).ias_kt
    rows = (
        _row(port, float(cas), tuple(float(column[i]) for column in columns))
        for i, cas in enumerate(speeds)
    )
    return tuple(
        row if row.ias_kt is None or np.isnan(value) else replace(row, light_ias_kt=float(value))
        for row, value in zip(rows, light, strict=True)
    )


def _row(port: FittedPort, cas_kt: float, found: tuple[float, ...]) -> ReadingRow:
    ias, mean_low, mean_high, next_low, next_high = found
    if not np.isfinite(found).all():
        reason = (
            f"outside the speeds that points of {FEWEST_AIRCRAFT} airframes reach"
            if np.isnan(ias)
            else "the band reaches too far beyond the speeds flown"
        )
        return ReadingRow(
            cas_kt=cas_kt,
            ias_kt=None,
            correction_kt=None,
            mean_low_kt=None,
            mean_high_kt=None,
            next_low_kt=None,
            next_high_kt=None,
            altitude_correction_ft=None,
            airframes=0,
            note=reason,
        )
    fitted = port.fitted
    speed = np.array([ias])
    height = height_correction_ft(speed, fitted.request.altitude_ft, port.kappa(speed))
    rows = fitted.known.rows_of(fitted.number)
    return ReadingRow(
        cas_kt=cas_kt,
        ias_kt=ias,
        correction_kt=cas_kt - ias,
        mean_low_kt=mean_low,
        mean_high_kt=mean_high,
        next_low_kt=next_low,
        next_high_kt=next_high,
        altitude_correction_ft=float(height[0]),
        airframes=reached_by(rows, ias, fitted.weight_kg),
        flown_by=flown_by(rows, ias),
    )
