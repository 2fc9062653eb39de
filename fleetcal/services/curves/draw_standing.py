"""The figure of an airframe's standing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.atomic_write import write_atomically
from fleetcal.errors import DataError
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.outliers import Verdicts
from fleetcal.fleet.pooled import PooledFit
from fleetcal.publish.figure_layers import CurveArrays
from fleetcal.publish.standing_figure import OwnCurve, OwnPoint, StandingPicture, standing_figure
from fleetcal.services.curves.airframe_verdict import AirframeVerdict
from fleetcal.services.curves.own_findings import OwnFinding
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.services.curves.quantity import Curve
from fleetcal.services.curves.type_points import TypePoints, curve_of
from fleetcal.wording import counted

#: Where a figure goes: into a file, whose ending tells the kind, or to whoever draws it.
StandingOutlet: TypeAlias = Path | Callable[[tuple[StandingPicture, ...]], object]
_KINDS = ("svg", "png", "pdf")
_LONG = {
    "IAS": "indicated airspeed",
    "CAS": "calibrated airspeed",
    "TAS": "true airspeed in standard air",
}


def draw_standing(
    known: TypePoints,
    verdicts: Verdicts,
    verdicts_of: tuple[AirframeVerdict, ...],
    found: tuple[OwnFinding, ...],
    file: StandingOutlet,
) -> None:
    """Draw an airframe among the others of each group that it flew in, or hand on the pictures.

    Args:
        verdicts_of: On the airframe.
        found: What of it disagrees with itself.

    Raises:
        DataError: If the ending is unknown, or the file cannot be written.
    """
    kind = figure_kind(file) if isinstance(file, Path) else ""
    odd = {i for one in found for i in (*one.numbers, *one.or_numbers)}
    pictures = tuple(_picture(known, verdicts, one, odd) for one in verdicts_of)
    if isinstance(file, Path):
        write_atomically(file, standing_figure(pictures, kind))
    else:
        file(pictures)


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
    known: TypePoints, verdicts: Verdicts, verdict_of: AirframeVerdict, odd: set[int]
) -> StandingPicture:
    weight, quantity = known.weight_kg, known.quantity
    mine = [i for i, m in enumerate(known.members) if str(m.group) == verdict_of.group]
    number = next(i for i in mine if known.members[i].airframe == verdict_of.airframe)
    group = int(known.points.group_of[number])
    about = curve_of(verdicts.fit.beta[group])
    flown = known.speeds_of(known.rows_of(group))
    curve = f"curve of all {len(mine)} airframes, this one included"
    if verdict_of.if_counted:
        curve = f"curve of {counted(len(mine) - 1, 'airframe')}; this one is set aside"
    speeds = np.linspace(min(flown), max(flown), 80)
    own = [_own_point(known, row, odd, about) for row in known.rows_of_member(number)]
    verdict = verdict_of.verdict
    if verdict == "undecided":
        verdict = f"undecided\nwith {verdict_of.others + 1} airframes"
    return StandingPicture(
        title=f"{verdict_of.airframe} in {verdict_of.group}",
        facts=f"{known.type.name}, flaps {known.flap_setting}, {weight:.0f} kg; "
        f"{curve}; {quantity.many} with their standard uncertainty",
        verdict=verdict,
        curve=drawn_curve(known, verdicts.fit, group, speeds),
        own=_own_curve(known, verdicts, number),
        others=tuple(_own_curve(known, verdicts, i) for i in mine if i != number),
        points=tuple(own),
        heading=quantity.heading,
        speed=f"{_LONG[quantity.speed]}, kt ({quantity.speed} at {weight:.0f} kg)",
        from_zero=quantity.unit == "kt",
    )


def drawn_curve(known: TypePoints, fit: PooledFit, group: int, speeds_kt: Array) -> CurveArrays:
    """Return the mean of a group and both its bands at some airspeeds, to be drawn."""
    x, about = known.scale.x_at(speeds_kt), curve_of(fit.beta[group])
    mean, following = fit.mean_band(group, x), fit.next_band(group, x)
    return CurveArrays(
        ias=speeds_kt,
        mean=known.scale.shown(speeds_kt, mean.centre, about),
        mean_low=known.scale.shown(speeds_kt, mean.low, about),
        mean_high=known.scale.shown(speeds_kt, mean.high, about),
        next_low=known.scale.shown(speeds_kt, following.low, about),
        next_high=known.scale.shown(speeds_kt, following.high, about),
    )


def _own_point(known: TypePoints, row: PooledPoint, odd: set[int], about: Curve) -> OwnPoint:
    speed = row.speed_at(known.weight_kg)
    around = row.y + row.u_y * np.array([-1.0, 0.0, 1.0])
    low, value, high = known.scale.shown(np.full(3, speed), around, about)
    name = f"{known.quantity.one} {row.number}" if row.number in odd else ""
    return OwnPoint(speed, float(value), abs(float(high - low)) / 2.0, name)


def _own_curve(known: TypePoints, verdicts: Verdicts, number: int) -> OwnCurve:
    """Return the group's curve moved in level and tilt to the airframe's own points."""
    fit = verdicts.fit
    k = len(fit.spread)
    products = fit.sums.products[number]
    beta = fit.beta[int(known.points.group_of[number])]
    pull = products[:k, -1] - products[:k, :-1] @ beta
    departure = np.linalg.pinv(products[:k, :k], rcond=1e-9, hermitian=True) @ pull
    flown = known.speeds_of(known.rows_of_member(number))
    speeds = np.linspace(min(flown), max(flown), 40)
    x = curve_basis(known.scale.x_at(speeds), fit.order)
    corrections = known.scale.shown(speeds, x @ beta + x[:, :k] @ departure, curve_of(beta))
    return OwnCurve(
        known.members[number].airframe,
        tuple((float(v), float(c)) for v, c in zip(speeds, corrections, strict=True)),
    )
