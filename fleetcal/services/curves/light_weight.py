"""What a curve says at the lightest weight flown, where that differs by more than its band.

The correction is a function of the lift coefficient, so at one airspeed it is another one
for a lighter aircraft. Where the difference is larger than the band that is printed for
one aircraft, a table for one weight alone would mislead.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import floor

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.publish.table_row import TableRow
from fleetcal.services.curves.curve_rows import curve_rows
from fleetcal.services.curves.fitted_group import FittedGroup
from fleetcal.services.curves.speed_grid import lift_at, reach_of, speed_correction_kt


@dataclass(frozen=True)
class LightWeight:
    """The lightest weight that a group flew, and the corrections there.

    Attributes:
        weight_kg: Whole kilograms.
        corrections_kt: One for each airspeed asked about; None where fewer than three airframes
            reach it.
        matters: Whether one differs by more than half the width of the band for another aircraft.
    """

    weight_kg: float
    corrections_kt: tuple[float | None, ...]
    matters: bool


def light_weight(fitted: FittedGroup, rows: tuple[TableRow, ...]) -> LightWeight:
    """Return what a curve says at the lightest weight flown.

    Args:
        rows: The curve at the weight of the request.
    """
    points, fewest = fitted.rows, fitted.request.fewest
    weight = float(floor(min(row.weight_kg for row in points)))
    speeds = np.array([row.given_kt for row in rows])
    found = _corrections(fitted, speeds, weight)
    reached = reach_of(points, weight)
    corrections = tuple(
        float(value) if reached.by(row.given_kt) >= fewest else None
        for row, value in zip(rows, found, strict=True)
    )
    matters = any(_beyond_band(row, light) for row, light in zip(rows, corrections, strict=True))
    return LightWeight(weight, corrections, matters)


def _corrections(fitted: FittedGroup, ias_kt: Array, weight_kg: float) -> Array:
    lift = lift_at(fitted.known.type, ias_kt, weight_kg)
    return speed_correction_kt(ias_kt, fitted.fit.centre(fitted.number, lift))


def _beyond_band(row: TableRow, light_kt: float | None) -> bool:
    if light_kt is None or row.correction_kt is None:
        return False
    assert row.next_low_kt is not None
    assert row.next_high_kt is not None
    return abs(light_kt - row.correction_kt) > (row.next_high_kt - row.next_low_kt) / 2.0


def at_light_weight(
    fitted: FittedGroup, rows: tuple[TableRow, ...], fine_kt: tuple[float, ...]
) -> tuple[float | None, tuple[TableRow, ...]]:
    """Return rows with the correction at the lightest weight flown, if it matters anywhere.

    Args:
        fine_kt: Airspeeds at which it is looked for whether it matters.

    Returns:
        weight_kg: None if it matters nowhere; the rows are then as they were.
    """
    if not fine_kt or not light_weight(fitted, curve_rows(fitted, fine_kt)).matters:
        return None, rows
    light = light_weight(fitted, rows)
    return light.weight_kg, tuple(
        replace(row, light_correction_kt=value)
        for row, value in zip(rows, light.corrections_kt, strict=True)
    )
