"""Fit a group whose points were read before."""

from __future__ import annotations

from fleetcal.fleet.model_checks import fit_checked
from fleetcal.services.curves.fitted_group import CurveRequest, FittedGroup
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.once import once
from fleetcal.services.curves.pool_members import Pool
from fleetcal.services.plausible_weight import require_plausible_weight
from fleetcal.store import TypeDescription


def fit_pool(request: CurveRequest, pool: Pool, name: GroupName) -> FittedGroup:
    """Fit a group from points that were read before.

    Args:
        name: One of the groups of the pool.

    Raises:
        FitError: If a group has fewer than three airframes, or the points determine no curve.
        ImplausibleError: If no aircraft of the type has the weight.
    """
    known = pool.known
    weight = weight_of(request, known.type)
    fit, checks = once(fit_checked, known.points, request.order)
    number = known.groups.index(name)
    return FittedGroup(
        request=request,
        known=known,
        name=name,
        number=number,
        fit=fit,
        weight_kg=weight,
        check=checks[number],
        pool=pool,
    )


def weight_of(request: CurveRequest, kind: TypeDescription) -> float:
    """Return the weight that airspeeds are told for, the reference weight unless one is asked for.

    Raises:
        ImplausibleError: If no aircraft of the type has it.
    """
    weight = kind.reference_weight_kg if request.weight_kg is None else request.weight_kg
    require_plausible_weight(weight, kind.name, kind.reference_weight_kg)
    return weight
