"""What planned sorties are worth once they were flown, against points equally spaced.

One airframe of an invented fleet has flown what its owner flies. The fleet is
fitted, the next sorties planned from its points alone, flown with errors of
`restless_sorties`, and the fleet fitted anew; standard deviations of the airframe's own correction,
in knots over the speeds that may be flown, are those of the new fit.
"""

from __future__ import annotations

from dataclasses import astuple, dataclass, replace

import numpy as np

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.next_points import own_covariance, own_curve, plan_points
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.pooled import PooledFit, fit_fleet
from fleetcal.fleet.usual_sortie import usual_sortie
from fleetcal.services.performance.weigh_sorties import MOST_SORTIES, proposed

from .invented_fleet import KAPPA_PER_KT, Plan, draw, lift_at
from .restless_sorties import as_points, fly_restless, restless_fleet

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


def planned_speeds(
    fit: PooledFit, points: FleetPoints, has_flown: bool, count: int, sorties: int = 1
) -> tuple[list[Array], Array]:
    """Return the speeds of each planned sortie, and the standard deviation promised, kt."""
    covariance = own_covariance(fit, 0, 0 if has_flown else None)
    lift = lift_at(PERMITTED_KT)
    usual = usual_sortie(points, np.arange(len(points.x)))
    told = plan_points(
        covariance, lift, lift, KNOTS_FOR_KAPPA, *usual.at(lift, fit.phi), count, sorties
    )
    each = [PERMITTED_KT[told.chosen[told.sortie == number]] for number in range(sorties)]
    return each, told.after[-1] * KNOTS_FOR_KAPPA


def own_deviation(fit: PooledFit, has_flown: bool) -> Array:
    """Return the standard deviation of the airframe's own curve at the permitted speeds, kt."""
    x = curve_basis(lift_at(PERMITTED_KT), fit.order)
    covariance = own_covariance(fit, 0, 0 if has_flown else None)
    width = np.sqrt(np.einsum("xi,ij,xj->x", x, covariance, x))
    return np.asarray(width * KNOTS_FOR_KAPPA)


@dataclass(frozen=True, kw_only=True)
class Worth:
    """What a flown plan was worth: standard deviations in kt, largest and mean over speeds.

    Attributes:
        split: As many points equally spaced, in as many sorties as the plan.
        most: As many points planned in as many sorties as `fleetcal plan` weighs.
        held: Share of speeds at which the promised 95 % band holds the truth.
        reached: Achieved mean over promised mean.
    """

    sorties: int
    largest: float
    promised: float
    before: float
    equal: float
    split: float
    most: float
    mean: float
    mean_equal: float
    mean_split: float
    reached: float
    held: float


def flown_plan(
    flown: str, count: int, plan: Plan, order: int | None, seed: int
) -> tuple[float, ...]:
    """Plan for the first airframe of a restless fleet, fly it and the alternatives, fit anew.

    The plan is by the rule of `fleetcal plan`. All alternatives meet the same days.

    Returns:
        The values of a `Worth`.
    """
    rng = np.random.default_rng(seed)
    sorties, curve = restless_fleet(plan, FLOWN[flown], rng)
    has_flown = bool(FLOWN[flown])
    points = as_points(sorties)
    fit = fit_fleet(points, order)
    now = own_deviation(fit, has_flown)
    ways = [
        planned_speeds(fit, points, has_flown, count, number)
        for number in range(1, 1 + min(MOST_SORTIES, max(count // 2, 1)))
    ]
    left = [_TWO_SIDED_95 * float(np.max(promised)) for _, promised in ways]
    number = proposed(_TWO_SIDED_95 * float(np.max(now)), left)
    speeds, promised = ways[number - 1]
    equal = np.linspace(PERMITTED_KT[0], PERMITTED_KT[-1], count)
    after = []
    for way in (speeds, [equal], [equal[part::number] for part in range(number)], ways[-1][0]):
        days = np.random.default_rng(seed + 1).spawn(MOST_SORTIES)
        more = [fly_restless(plan, 0, curve, one, day) for one, day in zip(way, days, strict=False)]
        after.append(fit_fleet(as_points([*more, *sorties]), order))
    planned, even, split, most = (own_deviation(one, True) for one in after)
    x = curve_basis(lift_at(PERMITTED_KT), 2)
    off = (
        own_curve(after[0], 0, 0)[0] @ x[:, : after[0].order + 1].T - x @ curve
    ) * KNOTS_FOR_KAPPA
    worth = Worth(
        sorties=number,
        largest=float(planned.max()),
        promised=float(promised.max()),
        before=float(now.max()),
        equal=float(even.max()),
        split=float(split.max()),
        most=float(most.max()),
        mean=float(planned.mean()),
        mean_equal=float(even.mean()),
        mean_split=float(split.mean()),
        reached=float(planned.mean() / promised.mean()),
        held=float(np.mean(np.abs(off) <= _TWO_SIDED_95 * promised)),
    )
    return astuple(worth)


def invented(order: int) -> Plan:
    """Return what fleets are drawn from for a curve of an order."""
    return replace(Plan(aircraft=10), bend=0.2 if order == 2 else 0.0)
