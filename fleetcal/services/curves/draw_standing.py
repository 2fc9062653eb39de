"""The figure of an airframe's standing."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.atomic_write import write_atomically
from fleetcal.errors import DataError
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.outliers import Verdicts
from fleetcal.fleet.pooled import Band
from fleetcal.publish.figure_layers import CurveArrays
from fleetcal.publish.standing_figure import OwnCurve, OwnPoint, StandingPicture, standing_figure
from fleetcal.services.curves.airframe_verdict import AirframeVerdict, member_rows
from fleetcal.services.curves.groups import TypePoints
from fleetcal.services.curves.own_findings import OwnFinding
from fleetcal.services.curves.speed_grid import ias_at_weight, lift_at
from fleetcal.store import PointRow
from fleetcal.wording import counted

_KINDS = ("svg", "png", "pdf")
_LONG = {"IAS": "indicated airspeed", "CAS": "calibrated airspeed"}


def draw_standing(
    known: TypePoints,
    verdicts: Verdicts,
    told: tuple[AirframeVerdict, ...],
    found: tuple[OwnFinding, ...],
    file: Path,
) -> None:
    """Draw an airframe among the others of each group that it flew in.

    Args:
        told: On the airframe.
        found: What of it disagrees with itself.
        file: The ending tells the kind.

    Raises:
        DataError: If the ending is unknown, or the file cannot be written.
    """
    kind = figure_kind(file)
    odd = {i for one in found for i in (*one.point_ids, *one.or_point_ids)}
    pictures = tuple(_picture(known, verdicts, one, odd) for one in told)
    write_atomically(file, standing_figure(pictures, kind))


def figure_kind(file: Path) -> str:
    """Return the kind of figure that the name of a file asks for.

    Raises:
        DataError: If the ending is unknown.
    """
    kind = file.suffix.lower().lstrip(".")
    if kind not in _KINDS:
        raise DataError(
            f"{file.name}: no figure of that kind can be drawn", f"end it in {', '.join(_KINDS)}"
        )
    return kind


def _picture(
    known: TypePoints, verdicts: Verdicts, told: AirframeVerdict, odd: set[int]
) -> StandingPicture:
    weight, fit = known.type.reference_weight_kg, verdicts.fit
    mine = [i for i, m in enumerate(known.members) if str(m.group) == told.group]
    number = next(i for i in mine if known.members[i].airframe == told.airframe)
    group = int(known.points.group_of[number])
    ias = [ias_at_weight(row, weight) for row in known.rows_of(group)]
    curve = f"curve of all {len(mine)} airframes, this one included"
    if told.if_counted:
        curve = f"curve of {counted(len(mine) - 1, 'airframe')}; this one is set aside"
    speeds = np.linspace(min(ias), max(ias), 80)
    lift = lift_at(known.type, speeds, weight)
    mean, after = fit.mean_band(group, lift), fit.next_band(group, lift)
    own = [_own_point(known, row, odd) for row in member_rows(known, number)]
    verdict = told.verdict
    if verdict == "cannot be told":
        verdict = f"cannot be told\nwith {told.others + 1} airframes"
    return StandingPicture(
        title=f"{told.airframe} in {told.group}",
        facts=f"{known.type.name}, flaps {known.flap_setting}, {weight:.0f} kg; "
        f"{curve}; points with their standard uncertainty",
        verdict=verdict,
        curve=curve_in_unit(known, speeds, mean, after),
        own=_own_curve(known, verdicts, number),
        others=tuple(_own_curve(known, verdicts, i) for i in mine if i != number),
        points=tuple(own),
        heading=known.quantity.heading,
        speed=f"{_LONG[known.quantity.speed]}, kt ({known.quantity.speed} at {weight:.0f} kg)",
        from_zero=known.quantity.speed == "IAS",
    )


def curve_in_unit(known: TypePoints, speeds: Array, mean: Band, after: Band) -> CurveArrays:
    """Return the bands of the mean and of the next aircraft in the unit of what was measured."""

    def shown(values: Array) -> Array:
        return known.quantity.convert(speeds, values)

    return CurveArrays(
        ias=speeds,
        mean=shown(mean.centre),
        mean_low=shown(mean.low),
        mean_high=shown(mean.high),
        next_low=shown(after.low),
        next_high=shown(after.high),
    )


def _own_point(known: TypePoints, row: PointRow, odd: set[int]) -> OwnPoint:
    speed = ias_at_weight(row, known.type.reference_weight_kg)
    around = row.kappa + row.u_kappa * np.array([-1.0, 0.0, 1.0])
    low, value, high = known.quantity.convert(np.full(3, speed), around)
    name = f"point {row.point_id}" if row.point_id in odd else ""
    return OwnPoint(speed, float(value), abs(float(high - low)) / 2.0, name)


def _own_curve(known: TypePoints, verdicts: Verdicts, number: int) -> OwnCurve:
    """Return the group's curve moved in level and tilt to the airframe's own points."""
    fit, weight = verdicts.fit, known.type.reference_weight_kg
    k = len(fit.spread)
    products = fit.sums.products[number]
    beta = fit.beta[int(known.points.group_of[number])]
    pull = products[:k, -1] - products[:k, :-1] @ beta
    departure = np.linalg.pinv(products[:k, :k], rcond=1e-9, hermitian=True) @ pull
    flown = [ias_at_weight(row, weight) for row in member_rows(known, number)]
    speeds = np.linspace(min(flown), max(flown), 40)
    x = curve_basis(lift_at(known.type, speeds, weight), fit.order)
    told = known.quantity.convert(speeds, x @ beta + x[:, :k] @ departure)
    return OwnCurve(
        known.members[number].airframe,
        tuple((float(v), float(c)) for v, c in zip(speeds, told, strict=True)),
    )
