"""The lines of a table that goes from CAS to IAS, by solving the pooled curve."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fleetcal.fleet.fewest import FEWEST_AIRCRAFT
from fleetcal.publish.table_row import ReadingRow
from fleetcal.services.curves.curve_rows import few_words, row_facts
from fleetcal.services.curves.fitted_group import FittedGroup
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
        replace(row, light_correction_kt=row.given_kt - float(value))
        if row.ias_kt is not None and np.isfinite(value)
        else row
        for row, value in zip(rows, light, strict=True)
    )


def _row(port: FittedPort, cas_kt: float, found: tuple[float, ...]) -> ReadingRow:
    ias, mean_low, mean_high, next_low, next_high = found
    if not np.isfinite(found).all():
        reason = "the band reaches too far beyond the speeds flown"
        if np.isnan(ias):
            reason = _not_reached(port.fitted)
        return ReadingRow(cas_kt=cas_kt, airframes=0, note=reason)
    speed = np.array([ias])
    (facts,) = row_facts(port.fitted, speed, port.kappa(speed))
    return ReadingRow(
        cas_kt=cas_kt,
        ias_kt=ias,
        correction_kt=cas_kt - ias,
        mean_low_kt=mean_low,
        mean_high_kt=mean_high,
        next_low_kt=next_low,
        next_high_kt=next_high,
        note=few_words(port.fitted, ias, facts["airframes"]),
        **facts,
    )


def _not_reached(fitted: FittedGroup) -> str:
    if fitted.check is None:
        return f"not flown at {fitted.weight_kg:.0f} kg"
    return f"outside the speeds that points of {FEWEST_AIRCRAFT} airframes reach"
