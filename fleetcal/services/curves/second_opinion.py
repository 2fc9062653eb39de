"""A group's curve beside that of another program, and why they may differ."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import FitError
from fleetcal.fleet.second_opinion import SecondOpinion, second_opinion
from fleetcal.publish.table_row import TableRow
from fleetcal.services.curves.curve_rows import curve_rows
from fleetcal.services.curves.fitted_group import FittedGroup
from fleetcal.services.curves.pool_members import AirframeLeftOut
from fleetcal.services.curves.pooled_curve import CurveRequest, fit_group
from fleetcal.services.curves.speed_grid import bounded_correction_kt, lift_at, speeds_flown
from fleetcal.store import Store

#: Part of the half width of the mean's band within which the two should agree: in more than
#: 95 of 100 simulated fleets they do, see `python -m tests.fleet.simulations second-opinion`.
AGREEMENT: Final = 0.5


@dataclass(frozen=True, kw_only=True)
class ComparedRow:
    """Both curves at one airspeed, kt; empty with the reason in `note` as in the curve.

    `mean_...` is the first curve's 95 % band of the mean, `second_...` the other
    program's curve and band; `difference_kt` is the second less the first, and
    `share_of_band` its size as a part of half the first's band.
    """

    ias_kt: float
    correction_kt: float | None = None
    mean_low_kt: float | None = None
    mean_high_kt: float | None = None
    second_kt: float | None = None
    second_low_kt: float | None = None
    second_high_kt: float | None = None
    difference_kt: float | None = None
    share_of_band: float | None = None
    airframes: int = 0
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class ComparedCurves:
    """A group's curve by this program and by another.

    Attributes:
        airframes, points, order: Of the group, and the order of both curves.
        agree: Whether they agree wherever both are known; None if no speed is.
        verdict: The same in words.
        differs: What the other program does otherwise.
        without: Airframes of this group that neither curve rests on.
    """

    type: str
    group: str
    flap_setting: str
    weight_kg: float
    airframes: int
    points: int
    order: int
    rows: tuple[ComparedRow, ...]
    agree: bool | None
    verdict: str
    differs: tuple[str, ...]
    without: tuple[AirframeLeftOut, ...]


def compared_curves(store: Store, request: CurveRequest) -> ComparedCurves:
    """Fit a group, and once more by another program on the same points.

    Raises:
        UnknownNameError: If type or group are not in the store.
        FitError: If either of the two cannot fit the points.
    """
    fitted = fit_group(store, request)
    if fitted.check is None:
        raise FitError(
            f"{fitted.called}: a second opinion needs a group of 3 airframes",
            "leave --second-opinion out",
        )
    other = second_opinion(fitted.known.points, fitted.pooled.order)
    rows = _rows(fitted, other)
    members = fitted.known.rows_of(fitted.number)
    agree, verdict = _verdict(rows)
    return ComparedCurves(
        type=fitted.known.type.name,
        group=str(fitted.name),
        flap_setting=fitted.known.flap_setting,
        weight_kg=fitted.weight_kg,
        airframes=len({row.airframe for row in members}),
        points=len(members),
        order=fitted.pooled.order,
        rows=rows,
        agree=agree,
        verdict=verdict,
        differs=tuple(_differs(fitted)),
        without=fitted.without,
    )


def _rows(fitted: FittedGroup, other: SecondOpinion) -> tuple[ComparedRow, ...]:
    step = fitted.request.step_kt
    speeds = speeds_flown(fitted.rows, fitted.weight_kg, step)
    ias = np.array(speeds)
    lift = lift_at(fitted.known.type, ias, fitted.weight_kg)
    second = [bounded_correction_kt(ias, kappa) for kappa in other.mean_band(fitted.number, lift)]
    return tuple(
        _row(row, *(float(part[i]) for part in second))
        for i, row in enumerate(curve_rows(fitted, speeds))
    )


def _row(row: TableRow, second: float, low: float, high: float) -> ComparedRow:
    if row.correction_kt is None or row.mean_low_kt is None or row.mean_high_kt is None:
        return ComparedRow(ias_kt=row.given_kt, airframes=row.airframes, note=row.note)
    difference = second - row.correction_kt
    half = 0.5 * (row.mean_high_kt - row.mean_low_kt)
    return ComparedRow(
        ias_kt=row.given_kt,
        correction_kt=row.correction_kt,
        mean_low_kt=row.mean_low_kt,
        mean_high_kt=row.mean_high_kt,
        second_kt=second,
        second_low_kt=low,
        second_high_kt=high,
        difference_kt=difference,
        share_of_band=abs(difference) / half,
        airframes=row.airframes,
        note=row.note,
    )


def _verdict(rows: tuple[ComparedRow, ...]) -> tuple[bool | None, str]:
    known = [row for row in rows if row.share_of_band is not None]
    if not known:
        return None, "no speed was flown by enough airframes to compare"
    worst = max(known, key=lambda row: row.share_of_band or 0.0)
    found = (
        f"the curves are at most {100.0 * (worst.share_of_band or 0.0):.0f} % of the band's half "
        f"width apart ({worst.difference_kt:+.2f} kt at {worst.ias_kt:.0f} kt)"
    )
    if (worst.share_of_band or 0.0) <= AGREEMENT:
        return True, f"they agree: {found}, and up to {100.0 * AGREEMENT:.0f} % is to be expected"
    return False, (
        f"they differ by more than the {100.0 * AGREEMENT:.0f} % to be expected: {found}; a few "
        "points with a small uncertainty then decide the curve, so look at their budgets "
        "('fleetcal points list', 'fleetcal points budget')"
    )


def _differs(fitted: FittedGroup) -> Iterator[str]:
    points = fitted.known.points
    shared: Array = np.sqrt((points.u_shared**2).sum(axis=1))
    u = np.hypot(points.u_own, shared)
    yield (
        "it weighs every point alike; here a point is weighed by its own uncertainty, the largest "
        f"{float(u.max() / u.min()):.1f} times the smallest"
    )
    yield (
        "it takes the errors of all points as independent; here the points of a sortie share "
        f"some, {100.0 * float(np.mean(shared**2 / u**2)):.0f} % of their variance"
    )
    yield (
        "its band takes the spread between airframes as known and is narrower; here the band is "
        "averaged over every spread that so few airframes allow, and widened by every doubt"
    )
