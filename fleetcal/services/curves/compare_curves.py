"""The difference of two fitted curves, told in numbers and in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.contrast import POWER, Contrast
from fleetcal.services.curves.pool_members import AirframeLeftOut
from fleetcal.services.curves.quantity import POSITION_ERROR, Quantity
from fleetcal.services.curves.speed_grid import lift_at
from fleetcal.store import PointRow, TypeDescription
from fleetcal.wording import percent

#: Chance of calling a difference that is not there.
LEVEL: Final = 0.05


@dataclass(frozen=True, kw_only=True)
class DifferenceRow:
    """Second curve less first at one airspeed, of the correction CAS - IAS in knots.

    `smallest_shown_kt` is the smallest difference at this speed that the data
    would have shown with a chance of 80 %. Of another quantity the values are
    in the unit of that, and whoever tells it gives the fields their name.
    """

    ias_kt: float
    first_kt: float
    second_kt: float
    difference_kt: float
    low_kt: float
    high_kt: float
    smallest_shown_kt: float


@dataclass(frozen=True)
class Side:
    """What one of the two curves rests on."""

    name: str
    airframes: int
    sorties: int
    points: int


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """Two curves compared.

    Attributes:
        question: What was compared, in words.
        weight_kg: Weight that the airspeeds are for.
        rows: Over the speeds that both sides flew.
        p_value: Chance of so large a difference between curves that are the same.
        verdict: In words.
        doubts: What speaks against the model, and what was made of it.
        each: Of a pooled comparison, what each airframe says by itself.
        without: Airframes of the groups that are not in their pools.
    """

    question: str
    type: str
    flap_setting: str
    weight_kg: float
    first: Side
    second: Side
    rows: tuple[DifferenceRow, ...]
    p_value: float
    differ: bool
    verdict: str
    model: str
    doubts: tuple[str, ...] = ()
    each: tuple[str, ...] = ()
    without: tuple[AirframeLeftOut, ...] = ()


def side_of(name: str, rows: list[PointRow]) -> Side:
    """Count what a side rests on."""
    return Side(name, len({r.airframe for r in rows}), len({r.sortie_id for r in rows}), len(rows))


def difference_rows(
    kind: TypeDescription,
    order: int,
    first: Array,
    found: Contrast,
    speeds_kt: Array,
    quantity: Quantity = POSITION_ERROR,
) -> tuple[DifferenceRow, ...]:
    """Tell a contrast in the unit of what was compared.

    Args:
        first (order + 1,): Coefficients of the first curve.
        speeds_kt (n,): At reference weight.
    """
    lift = lift_at(kind, speeds_kt, kind.reference_weight_kg)
    base = curve_basis(lift, order) @ first
    band, smallest = found.band(lift), found.smallest_shown(lift)

    def in_unit(value: Array) -> Array:
        return quantity.convert(speeds_kt, base + value)

    start = in_unit(np.zeros_like(base))
    columns = {
        "ias_kt": speeds_kt,
        "first_kt": start,
        "second_kt": in_unit(band.centre),
        "difference_kt": in_unit(band.centre) - start,
        "low_kt": in_unit(band.low) - start,
        "high_kt": in_unit(band.high) - start,
        "smallest_shown_kt": np.abs(in_unit(smallest) - start),
    }
    return tuple(
        DifferenceRow(**{name: float(column[i]) for name, column in columns.items()})
        for i in range(len(speeds_kt))
    )


def verdict_words(
    rows: tuple[DifferenceRow, ...],
    p_value: float,
    what: str,
    quantity: Quantity = POSITION_ERROR,
) -> str:
    """Return the answer to "do they differ" in one sentence.

    Args:
        what: Such as "the change" or "the two groups".
    """
    told = ", ".join(
        f"{quantity.signed(row.difference_kt)} at {row.ias_kt:.0f} kt "
        f"({quantity.band(row.low_kt, row.high_kt)})"
        for row in _three(rows)
    )
    seen = ", ".join(
        f"{quantity.size(row.smallest_shown_kt)} at {row.ias_kt:.0f} kt" for row in _three(rows)
    )
    if p_value < LEVEL:
        return (
            f"{what} shows in {quantity.name}: {told}; without one, so large a difference "
            f"would come by chance in {percent(p_value)} of cases"
        )
    return (
        f"{what} does not show in {quantity.name}: {told}; a difference of this size comes by "
        f"chance in {percent(p_value)} of cases. The data would have shown, with a chance of "
        f"{POWER:.0%}, a difference of {seen}".replace("80%", "80 %")
    )


def _three(rows: tuple[DifferenceRow, ...]) -> list[DifferenceRow]:
    """Return the rows at the lowest, a middle and the highest speed."""
    places = sorted({0, len(rows) // 2, len(rows) - 1})
    return [rows[place] for place in places]


def speeds_of_both(kind: TypeDescription, first: list[PointRow], second: list[PointRow]) -> Array:
    """Return round airspeeds that both sides flew, at reference weight.

    Returns:
        Shape (n,): Multiples of 10 kt, or one speed in the middle of a narrow range; empty when the
        ranges do not meet.
    """
    ranges = []
    for rows in (first, second):
        ias = [r.vic_kt * np.sqrt(kind.reference_weight_kg / r.weight_kg) for r in rows]
        ranges.append((min(ias) - 2.5, max(ias) + 2.5))
    low, high = max(r[0] for r in ranges), min(r[1] for r in ranges)
    if low > high:
        return np.zeros(0)
    speeds = np.arange(np.ceil(low / 10.0), np.floor(high / 10.0) + 1.0) * 10.0
    return speeds if len(speeds) else np.array([round((low + high) / 2.0)], dtype=np.float64)
