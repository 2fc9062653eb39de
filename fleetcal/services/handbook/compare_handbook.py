"""What a handbook's table says against what the port that is fitted does."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fleetcal.services.curves.pool_members import AirframeLeftOut
from fleetcal.services.curves.pooled_curve import CurveRequest, fit_group
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.services.handbook.handbook_table import HandbookTable, choose_handbook
from fleetcal.store import Store

_NOT_FLOWN: Final = "not flown with the fitted port"


@dataclass(frozen=True, kw_only=True)
class HandbookRow:
    """Handbook less fitted port at one IAS, of the correction CAS - IAS in knots.

    `low_kt` and `high_kt` are the 95 % band of the difference for the group's
    mean, `next_...` for another aircraft of the group. Empty with the reason in
    `note` where one of the two does not reach.
    """

    ias_kt: float
    handbook_kt: float | None
    curve_kt: float | None
    difference_kt: float | None
    low_kt: float | None
    high_kt: float | None
    next_low_kt: float | None
    next_high_kt: float | None
    note: str


@dataclass(frozen=True, kw_only=True)
class HandbookComparison:
    """A handbook table against the pooled curve of a port.

    Attributes:
        type, group, flap_setting: Of the fitted port.
        handbook, handbook_static_source: Name of the table, and the port it was flown with.
        weight_kg: Weight of the handbook's table, for which the curve is told too.
        verdict: In words.
        airframe: Whose own curve it is; None for a group.
        without: Airframes of the group that are not in the pool of the curve.
    """

    type: str
    group: str
    flap_setting: str
    handbook: str
    handbook_static_source: str
    weight_kg: float
    rows: tuple[HandbookRow, ...]
    verdict: str
    model: str
    without: tuple[AirframeLeftOut, ...] = ()
    airframe: str | None = None


def compare_handbook(
    store: Store, request: CurveRequest, handbook: str | None = None
) -> HandbookComparison:
    """Compare a handbook's table with the pooled curve of the port that is fitted.

    Args:
        request: Of the group that carries the port; its weight is the handbook's when left out.
        handbook: Name of the table; the only one when left out.

    Raises:
        FleetcalError: If there is no such table or group, or the group cannot be fitted.
    """
    table = choose_handbook(store, request.type, request.flap_setting, handbook)
    return compare_with_port(table, port_for(store, request, table), request.step_kt)


def port_for(store: Store, request: CurveRequest, table: HandbookTable) -> FittedPort:
    """Fit the group that is asked for, at the handbook's weight unless another is asked for."""
    weight = table.book.weight_kg if request.weight_kg is None else request.weight_kg
    at_weight = replace(request, type=table.book.type, weight_kg=weight)
    return FittedPort(fit_group(store, at_weight))


def compare_with_port(table: HandbookTable, port: FittedPort, step_kt: float) -> HandbookComparison:
    """Compare a handbook's table with a fitted port."""
    low, high = table.reach
    count = np.arange(np.ceil(low / step_kt), np.floor(high / step_kt) + 1.0)
    speeds = count * step_kt if len(count) else np.array([(low + high) / 2.0])
    printed = table.cas_kt(speeds) - speeds
    mean, following = port.cas_bands(speeds)
    columns = (mean.centre, mean.high, mean.low, following.high, following.low)
    rows = [
        _row(float(speed), float(printed[i]), tuple(float(c[i]) for c in columns))
        if port.flown(float(speed))
        else HandbookRow(
            ias_kt=float(speed),
            handbook_kt=float(printed[i]),
            curve_kt=None,
            difference_kt=None,
            low_kt=None,
            high_kt=None,
            next_low_kt=None,
            next_high_kt=None,
            note=_NOT_FLOWN,
        )
        for i, speed in enumerate(speeds)
    ]
    fitted = port.fitted
    return HandbookComparison(
        type=table.book.type,
        group=fitted.called,
        flap_setting=table.book.flap_setting,
        handbook=table.book.name,
        handbook_static_source=table.book.static_source,
        weight_kg=fitted.weight_kg,
        rows=tuple(rows),
        verdict=_verdict(rows, fitted.called),
        model="the handbook's table taken as exact and straight between its lines; the pooled "
        f"curve of order {fitted.fit.order} in (Vs/Viw)^2 at the same airspeed and weight",
        without=fitted.without,
        airframe=None if fitted.airframe is None else fitted.airframe.tag,
    )


def _row(speed: float, printed: float, cas: tuple[float, ...]) -> HandbookRow:
    """Return a row from the handbook's correction and CAS of curve and bands, high ends first."""
    curve, *ends = (value - speed for value in cas)
    low, high, next_low, next_high = (printed - end for end in ends)
    return HandbookRow(
        ias_kt=speed,
        handbook_kt=printed,
        curve_kt=curve,
        difference_kt=printed - curve,
        low_kt=low,
        high_kt=high,
        next_low_kt=next_low,
        next_high_kt=next_high,
        note="",
    )


def _verdict(rows: list[HandbookRow], group: str) -> str:
    known = [row for row in rows if row.difference_kt is not None]
    if not known:
        return f"the handbook's table and the speeds flown with {group} do not overlap"
    apart = [row for row in known if _outside(row)]
    if not apart:
        return f"at no speed does the handbook's table differ from {group} by more than the band"
    extremes = {max(apart, key=_difference), min(apart, key=_difference)}
    differences = "; ".join(_words(row) for row in sorted(extremes, key=lambda row: row.ias_kt))
    return f"the handbook's table does not hold with {group}: {differences}"


def _outside(row: HandbookRow) -> bool:
    return row.low_kt is not None and row.high_kt is not None and not row.low_kt < 0.0 < row.high_kt


def _difference(row: HandbookRow) -> float:
    return row.difference_kt or 0.0


def _words(row: HandbookRow) -> str:
    assert row.handbook_kt is not None
    assert row.curve_kt is not None
    difference = _difference(row)
    way = "slower" if difference > 0.0 else "faster"
    return (
        f"at {row.ias_kt:.0f} kt indicated the aircraft flies {row.ias_kt + row.curve_kt:.1f} kt "
        f"calibrated, {abs(difference):.1f} kt {way} than the handbook's "
        f"{row.ias_kt + row.handbook_kt:.1f} kt"
    )
