"""Two sides of one airframe, or of several, turned into one difference curve."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import FitError
from fleetcal.fleet.basis import MIDDLE_X, curve_basis
from fleetcal.fleet.contrast import Contrast, contrast
from fleetcal.fleet.pooled import PooledFit
from fleetcal.fleet.repeated_change import pool_changes
from fleetcal.fleet.search import require_believed
from fleetcal.fleet.standing_out import naming_the_worst
from fleetcal.fleet.sums import aircraft_sums
from fleetcal.services.curves.compare_curves import (
    Comparison,
    compared,
    difference_rows,
    differences_words,
    side_of,
    speeds_of_both,
)
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.services.curves.quantity import PoolBasis
from fleetcal.services.curves.repeated_fits import RepeatedFits, order_of, sorties_of
from fleetcal.services.curves.type_points import curve_of
from fleetcal.wording import counted

#: Fewest airframes whose differences are pooled.
FEWEST_CHANGED = 3


@dataclass(frozen=True)
class ChangedAirframe:
    """One airframe with its points before and after."""

    tag: str
    names: tuple[str, str]
    sides: tuple[list[PooledPoint], list[PooledPoint]]


def compare_sides(
    basis: PoolBasis, changed: Sequence[ChangedAirframe], repeated: RepeatedFits
) -> Comparison:
    """Compare after with before.

    Args:
        changed: One airframe, or three and more whose differences are pooled.
        repeated: Of the type; those of other airframes tell how much sorties differ.

    Raises:
        FitError: If two airframes are given, sides share no speed, or nothing tells how much
            sorties differ among each other.
    """
    if len(changed) == 2:
        raise FitError(
            "two airframes do not show how much a change differs from airframe to airframe",
            f"ask for each by itself, or for {FEWEST_CHANGED} and more together",
        )
    tags = ", ".join(one.tag for one in changed)
    speeds = _common_speeds(basis, changed)
    fit, groups, sorties = fit_sides(basis, tags, changed, repeated)
    found = [contrast(fit, 2 * i, 2 * i + 1) for i in range(len(changed))]
    single, count = len(changed) == 1, f"{len(changed)} airframes"
    first, second = changed[0].names if single else (f"{count} before", f"{count} after")
    mean, before, spread = _mean_change(basis, fit, found, speeds)
    return compared(
        basis,
        question=f"{tags}: {f'{second} minus {first}' if single else 'after minus before, pooled'}",
        what="the change",
        who=tags if single else f"The mean of {count}",
        sides=(
            side_of(first, [row for one in changed for row in one.sides[0]]),
            side_of(second, [row for one in changed for row in one.sides[1]]),
        ),
        rows=difference_rows(basis, before, mean, speeds),
        found=mean,
        model=_model_words(basis, fit.order, groups, sorties) + spread,
        each=() if single else _each(basis, fit, changed, found, speeds),
    )


def _model_words(basis: PoolBasis, order: int, groups: int, sorties: int) -> str:
    return (
        f"{basis.quantity.y_words} of order {order} in {basis.quantity.x_words} before and after, "
        "sorties random about them with one spread (half-Cauchy prior) learnt from "
        f"{groups} airframes and fits ({counted(sorties, 'sortie')}); instruments taken to be the "
        "same before and after"
    )


def _mean_change(
    basis: PoolBasis, fit: PooledFit, found: Sequence[Contrast], speeds: Array
) -> tuple[Contrast, Array, str]:
    """Return the change, the curve before it, and how much it differs between airframes."""
    if len(found) == 1:
        return found[0], fit.beta[0], ""
    t = basis.scale.x_at(speeds[[0, -1]]) - MIDDLE_X
    mean, pooled = pool_changes(found, np.sort(t))
    before = np.mean(fit.beta[0 : 2 * len(found) : 2], axis=0)
    return (
        mean,
        before,
        (
            f"; differences of {len(found)} airframes pooled, each airframe's own random about "
            f"their mean ({_spread_words(basis, pooled, before)})"
        ),
    )


def _common_speeds(basis: PoolBasis, changed: Sequence[ChangedAirframe]) -> Array:
    """Return round speeds that every airframe flew on both sides."""
    common: Array | None = None
    for one in changed:
        speeds = speeds_of_both(basis, *one.sides)
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
    basis: PoolBasis, tags: str, changed: Sequence[ChangedAirframe], repeated: RepeatedFits
) -> tuple[PooledFit, int, int]:
    """Fit every side, with the repeated fits of all other airframes, its sorties as the units.

    Args:
        tags: Of the changed airframes, for messages.
        changed: A side without points is left out of the fit.

    Returns:
        The fit, sides first in their order, its groups and its sorties. Only the sides are averaged
        over the spread.

    Raises:
        FitError: If nothing tells how much sorties differ among each other.
    """
    sides = [side for one in changed for side in one.sides if side]
    order = min(order_of(basis, rows) for rows in sides)
    points, counts = sorties_of(sides)
    others = repeated.at(order).without([one.tag for one in changed])
    every = counts + others.sorties
    if sum(every) - len(every) < 2:
        raise FitError(
            f"{tags}: nothing shows how much the sorties of one airframe differ",
            "fly each side twice, or reduce repeated sorties of other airframes",
        )
    sums = replace(
        aircraft_sums(points).with_order(order), group_of=np.repeat(np.arange(len(counts)), counts)
    )
    with naming_the_worst(points):
        fit = others.fit(sums)
        require_believed(fit.phi)
    return fit, len(every), sum(every)


def _each(
    basis: PoolBasis,
    fit: PooledFit,
    changed: Sequence[ChangedAirframe],
    found: Sequence[Contrast],
    speeds: Array,
) -> tuple[str, ...]:
    """Tell each airframe's own difference at the lowest and the highest speed."""
    words = []
    for place, (one, own) in enumerate(zip(changed, found, strict=True)):
        rows = difference_rows(basis, fit.beta[2 * place], own, speeds)
        ends = {row.speed_kt: row for row in (rows[0], rows[-1])}
        differ = differences_words(basis.quantity, list(ends.values()))
        words.append(f"{one.tag}, {one.names[0]} to {one.names[1]}: {differ}")
    return tuple(words)


def _spread_words(basis: PoolBasis, pooled: PooledFit, before: Array) -> str:
    """Tell how much the effect differs between airframes."""
    x, about = np.array([MIDDLE_X]), curve_of(before)
    z = curve_basis(x, len(pooled.spread) - 1)[0]
    deviation = np.sqrt(z @ pooled.averaged.mean_spread() @ z)
    speed = basis.scale.speed_at(x)
    base, moved = (basis.scale.shown(speed, about(x) + step, about) for step in (0.0, deviation))
    size = basis.quantity.size(float((moved - base)[0]))
    return f"standard deviation about {size} at {speed[0]:.0f} kt"
