"""What a planned sortie is worth once it was flown, against points equally spaced.

One airframe of an invented fleet has flown what its owner flies. The fleet is
fitted, the next sortie planned, flown with errors as all points have them, and the
fleet fitted anew; the largest band of the airframe's own correction, in knots over
the speeds that may be flown, is that of the new fit.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.next_points import own_covariance, plan_points
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.pooled import PooledFit, fit_fleet

from .invented_fleet import KAPPA_PER_KT, Plan, draw, lift_at

PERMITTED_KT = np.arange(65.0, 141.0, 5.0)
#: By the low-speed rule, kappa times half the airspeed.
KNOTS_FOR_KAPPA = PERMITTED_KT / 2.0
_TWO_SIDED_95 = 1.96

#: Speeds of each sortie that the airframe has flown before.
FLOWN = {
    "nothing": (),
    "one sortie, cruise": ((100.0, 105.0, 110.0),),
    "two sorties, cruise": ((100.0, 105.0, 110.0),) * 2,
    "two sorties, slow": ((70.0, 75.0, 80.0),) * 2,
    "two sorties, slow to cruise": ((70.0, 80.0, 90.0, 105.0),) * 2,
    "four sorties, cruise and fast": ((100.0, 115.0, 130.0, 140.0),) * 4,
    "two sorties, all speeds": ((70.0, 80.0, 95.0, 115.0, 140.0),) * 2,
}


def fleet_with(
    plan: Plan, flown: str, rng: np.random.Generator, own: Array | None = None
) -> tuple[FleetPoints, Array]:
    """Return a fleet whose first airframe flew as `FLOWN` says, and that airframe's curve.

    An airframe that has flown nothing is not in it.
    """
    points = draw(plan, rng).without_aircraft({0})
    departure = rng.multivariate_normal(np.zeros(2), plan.spread) if own is None else own
    curve = plan.curve + np.r_[departure, 0.0]
    for number, speeds in enumerate(FLOWN[flown]):
        about = np.array(speeds) + rng.uniform(-2.0, 2.0, len(speeds))
        points = fly(points, plan, curve, about, -1 - number, rng, new=number == 0)
    return points, curve


def fly(
    points: FleetPoints,
    plan: Plan,
    curve: Array,
    speeds_kt: Array,
    sortie: int,
    rng: np.random.Generator,
    new: bool = False,
) -> FleetPoints:
    """Return the points with a sortie of the first airframe more, which may be its first."""
    count, lift = len(speeds_kt), lift_at(speeds_kt)
    u_own, shared = 2.0 * plan.point_kt / speeds_kt, KAPPA_PER_KT * plan.sortie_kt
    kappa = curve_basis(lift, 2) @ curve + shared * rng.standard_normal()
    kappa += u_own * rng.standard_normal(count)
    return FleetPoints(
        x=np.r_[lift, points.x],
        y=np.r_[kappa, points.y],
        u_own=np.r_[u_own, points.u_own],
        u_shared=np.r_[np.full((count, 1), shared), points.u_shared],
        sortie=np.r_[np.full(count, sortie), points.sortie],
        aircraft=np.r_[np.zeros(count, dtype=np.int64), points.aircraft + new],
        group_of=np.r_[np.zeros(int(new), dtype=np.int64), points.group_of],
    )


def planned_speeds(fit: PooledFit, plan: Plan, has_flown: bool, count: int) -> tuple[Array, float]:
    """Return the speeds of the planned sortie, and the largest band it promises, kt."""
    covariance = own_covariance(fit, 0, 0 if has_flown else None)
    lift, root = lift_at(PERMITTED_KT), np.sqrt(fit.phi)
    u_own, u_shared = 2.0 * plan.point_kt / PERMITTED_KT, KAPPA_PER_KT * plan.sortie_kt
    told = plan_points(
        covariance, lift, lift, KNOTS_FOR_KAPPA, root * u_own, root * u_shared, count
    )
    largest = float(np.max(told.after[-1] * KNOTS_FOR_KAPPA))
    return PERMITTED_KT[told.chosen], _TWO_SIDED_95 * largest


def largest_band(fit: PooledFit, has_flown: bool) -> float:
    """Return the largest half width of the airframe's own 95 % band, kt."""
    covariance = own_covariance(fit, 0, 0 if has_flown else None)
    x = curve_basis(lift_at(PERMITTED_KT), fit.order)
    width = np.sqrt(np.einsum("xi,ij,xj->x", x, covariance, x))
    return _TWO_SIDED_95 * float(np.max(width * KNOTS_FOR_KAPPA))


def shrunk(
    flown: str, count: int, plan: Plan, order: int | None, seed: int
) -> tuple[float, float, float, float, float]:
    """Return the largest band: before, after planned, after equal spacing, and as promised.

    The last value is the mean band over the permitted speeds after the plan over that
    after equal spacing, for what the largest band costs elsewhere. Both sorties are
    flown with the same errors.
    """
    rng = np.random.default_rng(seed)
    points, curve = fleet_with(plan, flown, rng)
    has_flown = bool(FLOWN[flown])
    fit = fit_fleet(points, order)
    chosen, promised = planned_speeds(fit, plan, has_flown, count)
    equal = np.linspace(PERMITTED_KT[0], PERMITTED_KT[-1], count)
    after = []
    for speeds in (chosen, equal):
        again = np.random.default_rng(seed + 1)
        more = fly(points, plan, curve, np.sort(speeds), -9, again, new=not has_flown)
        after.append(fit_fleet(more, order))
    largest = [largest_band(one, True) for one in after]
    return (
        largest_band(fit, has_flown),
        largest[0],
        largest[1],
        promised,
        mean_band(after[0]) / mean_band(after[1]),
    )


def mean_band(fit: PooledFit) -> float:
    """Return the airframe's own standard deviation, kt, averaged over the permitted speeds."""
    x = curve_basis(lift_at(PERMITTED_KT), fit.order)
    variance = np.einsum("xi,ij,xj->x", x, own_covariance(fit, 0, 0), x)
    return float(np.mean(np.sqrt(variance) * KNOTS_FOR_KAPPA))


def invented(order: int) -> Plan:
    """Return what fleets are drawn from for a curve of an order."""
    return replace(Plan(aircraft=10), bend=0.2 if order == 2 else 0.0)
