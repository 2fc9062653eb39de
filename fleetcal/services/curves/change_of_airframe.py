"""Two sides of one airframe, or of several, turned into one difference curve."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.basis import MIDDLE_X, curve_basis
from fleetcal.fleet.contrast import Contrast, contrast
from fleetcal.fleet.pooled import PooledFit, fit_sums, supported_order
from fleetcal.fleet.repeated_change import pool_changes
from fleetcal.fleet.search import require_believed
from fleetcal.fleet.sums import aircraft_sums
from fleetcal.services.curves.compare_curves import (
    LEVEL,
    Comparison,
    difference_rows,
    side_of,
    speeds_of_both,
    verdict_words,
)
from fleetcal.services.curves.point_arrays import point_arrays
from fleetcal.services.curves.quantity import POSITION_ERROR, Quantity
from fleetcal.services.curves.speed_grid import lift_at
from fleetcal.store import PointRow, TypeDescription
from fleetcal.wording import counted

#: Fewest airframes whose differences are pooled.
FEWEST_CHANGED = 3

Rows = Sequence[PointRow]


@dataclass(frozen=True)
class ChangedAirframe:
    """One airframe with its points before and after."""

    tag: str
    names: tuple[str, str]
    sides: tuple[list[PointRow], list[PointRow]]


def compare_sides(
    kind: TypeDescription,
    flap_setting: str,
    changed: Sequence[ChangedAirframe],
    repeated: Sequence[Rows],
    quantity: Quantity = POSITION_ERROR,
) -> Comparison:
    """Compare after with before.

    Args:
        changed: One airframe, or three and more whose differences are pooled.
        repeated: Points of other airframes in one fit, each of more than one sortie; they tell how
            much sorties differ among each other.

    Raises:
        FitError: If two airframes are given, sides share no speed, or nothing tells how much
            sorties differ among each other.
    """
    if len(changed) == 2:
        raise FitError(
            "two airframes do not tell how much a change differs between airframes",
            f"ask for each by itself, or for {FEWEST_CHANGED} and more together",
        )
    tags = ", ".join(one.tag for one in changed)
    speeds = _common_speeds(kind, changed)
    fit, groups, sorties = fit_sides(kind, tags, changed, repeated)
    found = [contrast(fit, 2 * i, 2 * i + 1) for i in range(len(changed))]
    single, count = len(changed) == 1, f"{len(changed)} airframes"
    first, second = changed[0].names if single else (f"{count} before", f"{count} after")
    mean, base, spread = _mean_change(kind, fit, found, speeds, quantity)
    told = difference_rows(kind, fit.order, base, found=mean, speeds_kt=speeds, quantity=quantity)
    return Comparison(
        question=f"{tags}: {f'{second} minus {first}' if single else 'after minus before, pooled'}",
        type=kind.name,
        flap_setting=flap_setting,
        weight_kg=kind.reference_weight_kg,
        first=side_of(first, [row for one in changed for row in one.sides[0]]),
        second=side_of(second, [row for one in changed for row in one.sides[1]]),
        rows=told,
        p_value=mean.p_value,
        differ=mean.p_value < LEVEL,
        verdict=verdict_words(told, mean.p_value, "the change", quantity),
        model=_model_words(quantity, fit.order, groups, sorties) + spread,
        each=()
        if single
        else _each(kind, fit, changed, found=found, speeds=speeds, quantity=quantity),
    )


def _model_words(quantity: Quantity, order: int, groups: int, sorties: int) -> str:
    return (
        f"{quantity.symbol} of order {order} in {quantity.lift} before and after, sorties "
        "random about them with one spread (half-Cauchy prior) learnt from "
        f"{groups} airframes and fits ({counted(sorties, 'sortie')}); instruments taken to be the "
        "same before and after"
    )


def _mean_change(
    kind: TypeDescription,
    fit: PooledFit,
    found: Sequence[Contrast],
    speeds: np.ndarray,
    quantity: Quantity,
) -> tuple[Contrast, np.ndarray, str]:
    """Return the change, the curve before it, and how much it differs between airframes."""
    if len(found) == 1:
        return found[0], fit.beta[0], ""
    t = lift_at(kind, speeds[[0, -1]], kind.reference_weight_kg) - MIDDLE_X
    mean, pooled = pool_changes(found, np.sort(t))
    before = np.mean(fit.beta[0 : 2 * len(found) : 2], axis=0)
    return (
        mean,
        before,
        (
            f"; differences of {len(found)} airframes pooled, each airframe's own random about "
            f"their mean ({_spread_words(kind, pooled, before, quantity)})"
        ),
    )


def _common_speeds(kind: TypeDescription, changed: Sequence[ChangedAirframe]) -> np.ndarray:
    """Return round speeds that every airframe flew on both sides."""
    common: np.ndarray | None = None
    for one in changed:
        speeds = speeds_of_both(kind, *one.sides)
        if not len(speeds):
            raise FitError(
                f"{one.tag}: the two sides share no speed", "fly one at the other's speeds"
            )
        common = speeds if common is None else np.intersect1d(common, speeds)
    assert common is not None  # at least one airframe
    if not len(common):
        raise FitError(
            "the airframes share no speed that all flew before and after",
            "leave out the one with other speeds",
        )
    return common


def fit_sides(
    kind: TypeDescription, tags: str, changed: Sequence[ChangedAirframe], repeated: Sequence[Rows]
) -> tuple[PooledFit, int, int]:
    """Fit every side and every other repeated fit as a group, its sorties as the units.

    Args:
        tags: Of the changed airframes, for messages.
        changed: A side without points is left out of the fit.

    Returns:
        The fit, sides first in their order, its groups and its sorties.

    Raises:
        FitError: If nothing tells how much sorties differ among each other.
    """
    sides = [side for one in changed for side in one.sides if side]
    order = min(_order(kind, rows) for rows in sides)
    groups = [*sides, *(rows for rows in repeated if _order(kind, rows) >= order)]
    sorties = sum(len({row.sortie_id for row in rows}) for rows in groups)
    if sorties - len(groups) < 2:
        raise FitError(
            f"{tags}: nothing tells how much sorties of one airframe differ among each other",
            "fly each side twice, or reduce repeated sorties of other airframes",
        )
    units: dict[tuple[int, int], int] = {}
    rows, unit_of, group_of = [], [], []
    for group, members in enumerate(groups):
        for row in members:
            key = (group, row.sortie_id)
            if key not in units:
                units[key] = len(units)
                group_of.append(group)
            rows.append(row)
            unit_of.append(units[key])
    points = point_arrays(kind, rows, unit_of, group_of)
    fit = fit_sums(aircraft_sums(points).with_order(order), len(groups), likely_alike=True)
    require_believed(fit.phi)
    return fit, len(groups), sorties


def _each(
    kind: TypeDescription,
    fit: PooledFit,
    changed: Sequence[ChangedAirframe],
    found: Sequence[Contrast],
    speeds: np.ndarray,
    quantity: Quantity,
) -> tuple[str, ...]:
    """Tell each airframe's own difference at the lowest and the highest speed."""
    told = []
    for place, (one, own) in enumerate(zip(changed, found, strict=True)):
        rows = difference_rows(
            kind, fit.order, fit.beta[2 * place], found=own, speeds_kt=speeds, quantity=quantity
        )
        ends = {row.ias_kt: row for row in (rows[0], rows[-1])}.values()
        said = ", ".join(
            f"{quantity.signed(row.difference_kt)} at {row.ias_kt:.0f} kt "
            f"({quantity.band(row.low_kt, row.high_kt)})"
            for row in ends
        )
        told.append(f"{one.tag}, {one.names[0]} to {one.names[1]}: {said}")
    return tuple(told)


def _spread_words(
    kind: TypeDescription, pooled: PooledFit, before: np.ndarray, quantity: Quantity
) -> str:
    """Tell how much the effect differs between airframes."""
    lift = np.array([MIDDLE_X])
    z = curve_basis(lift, len(pooled.spread) - 1)[0]
    deviation = np.sqrt(z @ pooled.averaged.mean_spread() @ z)
    speed = np.array([2.0 * kind.scaling_speed_kt])  # that is where s is MIDDLE_X
    base = curve_basis(lift, len(before) - 1) @ before
    told = quantity.convert(speed, base + deviation) - quantity.convert(speed, base)
    return f"standard deviation about {quantity.size(float(told[0]))} at {speed[0]:.0f} kt"


def _order(kind: TypeDescription, rows: Rows) -> int:
    """Return the highest order that the speeds of one side carry."""
    return supported_order(point_arrays(kind, rows, np.zeros(len(rows), int).tolist(), [0]))
