"""Whether promised chances of telling what a change did hold: promise, fly, compare anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.contrast import contrast
from fleetcal.fleet.foreseen_change import USUAL_CHANGE, foresee_change, settled_change
from fleetcal.fleet.foreseen_standing import Question
from fleetcal.fleet.points import Array, FleetPoints, Index
from fleetcal.fleet.pooled import PooledFit, fit_sums
from fleetcal.fleet.sums import aircraft_sums

from .flown_plans import KNOTS_FOR_KAPPA, PERMITTED_KT
from .invented_fleet import KAPPA_PER_KT, SPEEDS_KT, Plan, lift_at
from .settled_standings import LEVEL, NUMBERS, SMALLEST_KT, planned_sortie

_PLANNED_KT = np.array([70.0, 70.0, 140.0, 140.0])
_DRAWS = 100
QUESTION = Question(lift_at(PERMITTED_KT[1:]), KNOTS_FOR_KAPPA[1:], SMALLEST_KT, LEVEL)


def change_foreseen(
    after: int, none_in: float, plan: Plan, order: int | None, seed: int
) -> tuple[float, ...]:
    """Return settled promised, settled, found promised, found for each of `NUMBERS`.

    One airframe with two sorties before the change and `after` behind it, and
    `plan.aircraft` others with two each. `plan.spread_kt` and `plan.tilt` are those
    between sorties of one airframe. The change is drawn as the calculation expects it,
    but is none with a chance of `none_in`, which the calculation does not know.
    """
    rng = np.random.default_rng(seed)
    degree = order or 1
    curves = rng.normal([0.03, 0.06], [0.03, 0.05], size=(2 + plan.aircraft, 2))
    moved = rng.normal(0.0, USUAL_CHANGE[:2]) if rng.random() >= none_in else np.zeros(2)
    curves[-1] = curves[0] + moved
    groups = [0, 0, *np.repeat(np.arange(1, 1 + plan.aircraft), 2)]
    groups += [plan.aircraft + 1] * after
    points = _flown(plan, curves, np.array(groups), np.tile(SPEEDS_KT, (len(groups), 1)), rng)
    fit = _fit(points, degree)
    sortie = planned_sortie(plan, _PLANNED_KT, degree)
    last = plan.aircraft + 1
    promised = foresee_change(
        fit, 0, last if after else None, sortie, QUESTION, NUMBERS, _DRAWS, rng
    )
    told: list[float] = []
    more = _flown(
        plan,
        curves,
        np.full(max(NUMBERS), last),
        np.tile(_PLANNED_KT, (max(NUMBERS), 1)),
        rng,
    )
    for number, chances in zip(NUMBERS, promised, strict=True):
        found = contrast(_fit(_joined(points, more, number), degree), 0, last)
        happened = settled_change(QUESTION, found.weight, found.difference, found.covariance)
        told += [chances[0], happened[0], chances[1], happened[1]]
    return tuple(told)


def _flown(
    plan: Plan, curves: Array, group_of: Index, speeds: Array, rng: np.random.Generator
) -> FleetPoints:
    sorties, count = speeds.shape
    speed = (speeds + rng.uniform(-1.0, 1.0, speeds.shape)).ravel()
    sortie = np.repeat(np.arange(sorties), count)
    own = curves[group_of] + rng.multivariate_normal(np.zeros(2), plan.spread, size=sorties)
    lift, u_own, shared = lift_at(speed), 2.0 * plan.point_kt / speed, KAPPA_PER_KT * plan.sortie_kt
    kappa = np.einsum("ni,ni->n", curve_basis(lift, 1), own[sortie])
    kappa += (
        u_own * rng.standard_normal(len(lift)) + shared * rng.standard_normal((sorties,))[sortie]
    )
    u_shared = np.full((len(lift), 1), shared)
    return FleetPoints(
        x=lift,
        y=kappa,
        u_own=u_own,
        u_shared=u_shared,
        sortie=sortie,
        aircraft=sortie,
        group_of=group_of,
    )


def _joined(points: FleetPoints, more: FleetPoints, sorties: int) -> FleetPoints:
    """Return points with the first sorties of others behind them."""
    keep, first = more.sortie < sorties, len(points.group_of)
    return FleetPoints(
        x=np.r_[points.x, more.x[keep]],
        y=np.r_[points.y, more.y[keep]],
        u_own=np.r_[points.u_own, more.u_own[keep]],
        u_shared=np.r_[points.u_shared, more.u_shared[keep]],
        sortie=np.r_[points.sortie, more.sortie[keep] + first],
        aircraft=np.r_[points.aircraft, more.aircraft[keep] + first],
        group_of=np.r_[points.group_of, more.group_of[:sorties]],
    )


def _fit(points: FleetPoints, order: int) -> PooledFit:
    sums = aircraft_sums(points).with_order(order)
    return fit_sums(sums, points.groups, likely_alike=True)


def between_sorties(spread_kt: float, point_kt: float = 0.7) -> Plan:
    """Return ten other airframes whose sorties differ by so much."""
    return replace(Plan(aircraft=10, spread_kt=spread_kt, tilt=0.02 * spread_kt), point_kt=point_kt)
