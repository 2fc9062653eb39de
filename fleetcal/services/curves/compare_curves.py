"""The difference of two fitted curves, told in numbers and in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import FitError
from fleetcal.fleet.contrast import POWER, Contrast
from fleetcal.services.curves.pool_members import AirframeLeftOut
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.services.curves.quantity import PoolBasis, Quantity
from fleetcal.services.curves.speed_grid import REACH_KT
from fleetcal.services.curves.type_points import curve_of
from fleetcal.services.field_names import NEVER_PRINTED, PERFORMANCE_ONLY, printed
from fleetcal.wording import decimal, percent

#: Chance of calling a difference that is not there.
LEVEL: Final = 0.05


@dataclass(frozen=True, kw_only=True)
class DifferenceRow:
    """Second curve less first at one airspeed.

    Attributes:
        smallest_shown: Smallest difference at this speed that the data would have shown with a
            chance of 80 %.
    """

    speed_kt: float = field(metadata=printed("{speed}_kt"))
    first: float = field(metadata=printed("first_{unit}"))
    second: float = field(metadata=printed("second_{unit}"))
    difference: float = field(metadata=printed("difference_{unit}"))
    low: float = field(metadata=printed("low_{unit}"))
    high: float = field(metadata=printed("high_{unit}"))
    smallest_shown: float = field(metadata=printed("smallest_shown_{unit}"))


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
        kind: Key of the quantity.
        altitude_ft: Pressure altitude in standard air that the numbers are for.
        notes: On how the numbers came about.
        question: What was compared, in words.
        answer: The first sentence: by how much they differ at a middle speed.
        weight_kg: Weight that the airspeeds are for.
        rows: Over the speeds that both sides flew.
        p_value: Chance of so large a difference between curves that are the same.
        verdict: In words.
        doubts: What speaks against the model, and what was made of it.
        each: Of a pooled comparison, what each airframe says by itself.
        without: Airframes of the groups that are not in their pools.
    """

    quantity: Quantity = field(metadata=NEVER_PRINTED)
    question: str
    type: str
    kind: str = field(metadata=printed(only=PERFORMANCE_ONLY))
    power_state: str = field(metadata=printed(only=PERFORMANCE_ONLY))
    flap_setting: str
    weight_kg: float
    altitude_ft: float | None = field(metadata=printed(only=PERFORMANCE_ONLY))
    first: Side
    second: Side
    rows: tuple[DifferenceRow, ...]
    p_value: float
    differ: bool
    verdict: str
    model: str
    doubts: tuple[str, ...] = ()
    answer: str = ""
    each: tuple[str, ...] = ()
    notes: tuple[str, ...] = field(default=(), metadata=printed(only=PERFORMANCE_ONLY))
    without: tuple[AirframeLeftOut, ...] = field(
        default=(), metadata=printed(text=PERFORMANCE_ONLY)
    )


def side_of(name: str, rows: list[PooledPoint]) -> Side:
    """Count what a side rests on."""
    return Side(name, len({r.airframe for r in rows}), len({r.sortie_id for r in rows}), len(rows))


def compared(
    basis: PoolBasis,
    *,
    question: str,
    what: str,
    who: str = "",
    sides: tuple[Side, Side],
    rows: tuple[DifferenceRow, ...],
    found: Contrast,
    model: str,
    doubts: tuple[str, ...] = (),
    each: tuple[str, ...] = (),
) -> Comparison:
    """Return two curves compared.

    Args:
        what: What would show, such as "the change".
        who: Compared with itself, before and after; two groups if empty.
        found: The contrast that the rows tell.
    """
    return Comparison(
        quantity=basis.quantity,
        question=question,
        type=basis.type.name,
        kind=basis.quantity.key,
        power_state=basis.flown.power_state,
        flap_setting=basis.flap_setting,
        weight_kg=basis.weight_kg,
        altitude_ft=basis.flown.altitude_ft,
        first=sides[0],
        second=sides[1],
        rows=rows,
        p_value=found.p_value,
        differ=found.p_value < LEVEL,
        verdict=_verdict_words(basis.quantity, rows, found.p_value, what),
        model=model,
        answer=_answer_words(basis.quantity, _three(rows), found.p_value, who, sides),
        doubts=doubts,
        each=each,
        notes=basis.flown.notes,
    )


def difference_rows(
    basis: PoolBasis, first: Array, found: Contrast, speeds_kt: Array
) -> tuple[DifferenceRow, ...]:
    """Tell a contrast in the unit of what was compared.

    Args:
        first (order + 1,): Coefficients of the first curve.
        speeds_kt (n,): At reference weight.

    Returns:
        Where the number that is shown exists.

    Raises:
        FitError: If it exists nowhere.
    """
    x, about = basis.scale.x_at(speeds_kt), curve_of(first)
    base = about(x)
    band, smallest = found.band(x), found.smallest_shown(x)

    def in_unit(value: Array) -> Array:
        return basis.scale.shown(speeds_kt, base + value, about)

    start = in_unit(np.zeros_like(base))
    second = in_unit(band.centre)
    ends = np.sort([in_unit(band.low) - start, in_unit(band.high) - start], axis=0)
    shown = np.abs(in_unit(smallest) - start)
    there = np.isfinite(second + ends.sum(axis=0) + shown)
    if not np.any(there):
        raise FitError("no speed flown determines the difference", "fly faster runs")
    return tuple(
        DifferenceRow(
            speed_kt=float(speed),
            first=float(start[i]),
            second=float(second[i]),
            difference=float(second[i] - start[i]),
            low=float(ends[0, i]),
            high=float(ends[1, i]),
            smallest_shown=float(shown[i]),
        )
        for i, speed in enumerate(speeds_kt)
        if there[i]
    )


def differences_words(quantity: Quantity, rows: list[DifferenceRow]) -> str:
    """Return differences with their bands in words."""
    return ", ".join(
        f"{quantity.signed(row.difference)} at {row.speed_kt:.0f} kt "
        f"({quantity.band(row.low, row.high)} {quantity.unit})"
        for row in rows
    )


def _verdict_words(
    quantity: Quantity, rows: tuple[DifferenceRow, ...], p_value: float, what: str
) -> str:
    """Return the answer to "do they differ" in one sentence."""
    differ = differences_words(quantity, _three(rows))
    if p_value < LEVEL:
        return (
            f"{what} shows in {quantity.name}: {differ}; if there were none, so large a "
            f"difference would arise by chance in {percent(p_value)} of cases"
        )
    seen = ", ".join(
        f"{quantity.size(row.smallest_shown)} at {row.speed_kt:.0f} kt" for row in _three(rows)
    )
    return (
        f"{what} does not show in {quantity.name}: {differ}; a difference of this size arises by "
        f"chance in {percent(p_value)} of cases. The data would have shown, with a chance of "
        f"{POWER:.0%}, a difference of {seen}".replace("80%", "80 %")
    )


def _answer_words(
    quantity: Quantity,
    rows: Sequence[DifferenceRow],
    p_value: float,
    who: str,
    sides: tuple[Side, Side],
) -> str:
    """Return the difference at a middle speed in a sentence, and whether it shows."""
    row = rows[len(rows) // 2]
    than = "before" if who else f"with {sides[0].name}"
    whose = who or f"With {sides[1].name} an aircraft"
    departs = quantity.departs(row.difference).replace("the group", than)
    sign = -1.0 if row.difference < 0.0 else 1.0
    ends = sorted((sign * row.low, sign * row.high))
    band = quantity.band(row.low, row.high)
    if ends[0] >= 0.0:
        band = " to ".join(decimal(end, quantity.decimals) for end in ends)
    seen = f"{whose} {departs} at {row.speed_kt:.0f} kt ({band} {quantity.unit})"
    if p_value < LEVEL:
        return f"{seen}; chance alone makes so large a difference in {percent(p_value)} of cases."
    return (
        f"No {'change' if who else 'difference'} shows: {seen[0].lower() if not who else seen[0]}"
        f"{seen[1:]}, as chance makes it; {quantity.size(row.smallest_shown)} would have been seen "
        f"in 8 of 10 cases."
    )


def _three(rows: tuple[DifferenceRow, ...]) -> list[DifferenceRow]:
    """Return the rows at the lowest, a middle and the highest speed."""
    places = sorted({0, len(rows) // 2, len(rows) - 1})
    return [rows[place] for place in places]


def speeds_of_both(basis: PoolBasis, first: list[PooledPoint], second: list[PooledPoint]) -> Array:
    """Return round airspeeds that both sides flew, at reference weight.

    Returns:
        Shape (n,): Multiples of 10 kt, or one speed in the middle of a narrow range; empty when
        the ranges do not meet.
    """
    ranges = []
    for rows in (first, second):
        flown = basis.speeds_of(rows)
        ranges.append((min(flown) - REACH_KT, max(flown) + REACH_KT))
    low, high = max(r[0] for r in ranges), min(r[1] for r in ranges)
    if low > high:
        return np.zeros(0)
    speeds = np.arange(np.ceil(low / 10.0), np.floor(high / 10.0) + 1.0) * 10.0
    return speeds if len(speeds) else np.array([round((low + high) / 2.0)], dtype=np.float64)
