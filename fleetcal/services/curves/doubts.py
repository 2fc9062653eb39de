"""What speaks against the model of a group, in words."""

from __future__ import annotations

import numpy as np

from fleetcal.fleet.model_checks import (
    BEND_LEVEL,
    DOMINATING,
    SCATTER_LEVEL,
    GroupCheck,
)
from fleetcal.fleet.pooled import PooledFit
from fleetcal.services.curves.cluster_words import cluster_words
from fleetcal.services.curves.quantity import Curve
from fleetcal.services.curves.type_points import TypePoints, curve_of
from fleetcal.wording import percent


def doubts_of(known: TypePoints, group: int, check: GroupCheck, fit: PooledFit) -> tuple[str, ...]:
    """Tell what speaks against the answer of a group, and what was made of it.

    Args:
        check: Of the group.
        fit: Of all groups of the type.

    Returns:
        Empty when the points agree with the model.
    """
    doubts = []
    if check.scatter_p_value < SCATTER_LEVEL:
        doubts.append(_scatter(known, check, fit.phi))
    if check.misfit.p_value < BEND_LEVEL:
        doubts.append(_bend(known, check, curve_of(fit.beta[group])))
    if check.heaviest_share > DOMINATING:
        doubts.append(_dominated(known, group, check))
    if check.clusters is not None:
        doubts.append(cluster_words(known, check.clusters, known.members))
    return tuple(doubts)


def _scatter(known: TypePoints, check: GroupCheck, phi: float) -> str:
    sentence = (
        f"the {known.quantity.many} scatter {check.scatter:.1f} times more about their own "
        "airframe's curve than their stated uncertainties (Birge ratio)"
    )
    if np.sqrt(phi) > 1.05:
        sentence += f"; all uncertainties of the type were taken {np.sqrt(phi):.1f} times larger"
    if check.factor > 1.1:
        sentence += f"; the band of this mean was made {np.sqrt(check.factor):.1f} times wider"
    return sentence + ". Look for bad legs, or for uncertainties that were stated too small"


def _bend(known: TypePoints, check: GroupCheck, about: Curve) -> str:
    quantity, scale, misfit = known.quantity, known.scale, check.misfit
    speeds = scale.speed_at(misfit.x)
    shifts = scale.small(speeds, misfit.miss, about)
    misfits = ", ".join(
        f"{quantity.signed(shift)} near {speed:.0f} kt"
        for speed, shift in sorted(zip(speeds, shifts, strict=True))
    )
    square = np.zeros_like(speeds)
    if check.departure is not None:
        square = check.departure.mean_square(misfit.x)
    farthest = float(np.max(np.abs(scale.small(speeds, np.sqrt(square), about))))
    return (
        f"the curve does not follow the points: they lie off it by {misfits}, which happens by "
        f"chance in {percent(misfit.p_value)} of cases; both bands allow for a mean that is off "
        f"the curve by up to {quantity.size(farthest)} (root mean square)"
    )


def _dominated(known: TypePoints, group: int, check: GroupCheck) -> str:
    row = next(
        row
        for row, sortie, aircraft in zip(
            known.rows, known.points.sortie, known.points.aircraft, strict=True
        )
        if sortie == check.heaviest_sortie and known.points.group_of[aircraft] == group
    )
    return (
        f"one sortie of {row.airframe} on {row.flown_on} carries {check.heaviest_share:.0%} of the "
        "curve; both bands were made wider by how far the curve moves without that airframe"
    ).replace("%", " %")
