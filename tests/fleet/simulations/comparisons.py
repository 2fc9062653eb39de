"""How often comparisons find a difference that is not there, and how often one that is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.contrast import contrast
from fleetcal.fleet.enough_points import supported_order
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import fit_sums
from fleetcal.fleet.port_pooling import pool_pairings
from fleetcal.fleet.repeated_change import pool_changes
from fleetcal.fleet.sums import aircraft_sums

from .bands import LOOKED_AT_KT
from .invented_fleet import KAPPA_PER_KT, SPEEDS_KT, Plan, draw, lift_at, mean_curve

LEVEL = 0.05


def _sides(plan: Plan, sides: int, shift_kt: list[float], rng: np.random.Generator) -> FleetPoints:
    """Return sides of airframes, each with its own curve and two sorties about it.

    `plan.spread_kt` and `plan.tilt` are here those between sorties of one airframe in
    one fit; `shift_kt` moves some sides against the curve they share with the one before.
    """
    sorties = sides * plan.sorties
    curve = rng.normal([0.03, 0.06], [0.03, 0.05], size=(sides, 2))
    for after, shift in enumerate(shift_kt):
        curve[2 * after + 1] = curve[2 * after] + [KAPPA_PER_KT * shift, 0.0]
    departure = rng.multivariate_normal(np.zeros(2), plan.spread, size=sorties)
    speed = np.tile(SPEEDS_KT, sorties) + rng.uniform(-3.0, 3.0, sorties * len(SPEEDS_KT))
    sortie = np.repeat(np.arange(sorties), len(SPEEDS_KT))
    lift, u_own = lift_at(speed), 2.0 * plan.point_kt / speed
    shared = KAPPA_PER_KT * plan.sortie_kt
    own = curve[sortie // plan.sorties] + departure[sortie]
    kappa = np.einsum("ni,ni->n", curve_basis(lift, 1), own)
    kappa += u_own * rng.standard_normal(len(lift)) + shared * rng.standard_normal(sorties)[sortie]
    group_of = np.arange(sorties) // plan.sorties
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


def changed(plan: Plan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return 1 if a change by `plan.bend` knots is found, and if the band at 100 kt holds it.

    One airframe with two sorties before and after, and `plan.aircraft` others
    that tell how much sorties differ.
    """
    points = _sides(plan, 2 + plan.aircraft, [plan.bend], np.random.default_rng(seed))
    fit = fit_sums(aircraft_sums(points).with_order(order or 1), points.groups, likely_alike=True)
    found = contrast(fit, 0, 1)
    band = found.band(lift_at(np.array([100.0])))
    truth = KAPPA_PER_KT * plan.bend
    return float(found.p_value < LEVEL), float(band.low[0] <= truth <= band.high[0])


def changed_on_several(plan: Plan, order: int | None, seed: int) -> tuple[float, ...]:
    """As `changed`, the same change made on `plan.groups` airframes.

    The effect differs between airframes by half a knot.
    """
    rng = np.random.default_rng(seed)
    effects = (plan.bend + 0.5 * rng.standard_normal(plan.groups)).tolist()
    points = _sides(plan, 2 * plan.groups + plan.aircraft, effects, rng)
    fit = fit_sums(aircraft_sums(points).with_order(order or 1), points.groups, likely_alike=True)
    each = [contrast(fit, 2 * i, 2 * i + 1) for i in range(plan.groups)]
    found, _ = pool_changes(each, np.array([-0.12, 0.26]))
    band = found.band(lift_at(np.array([100.0])))
    truth = KAPPA_PER_KT * plan.bend
    return float(found.p_value < LEVEL), float(band.low[0] <= truth <= band.high[0])


def groups_differ(shift_kt: float, plan: Plan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return 1 if two groups are called different, and where the band holds their difference.

    Args:
        shift_kt: Added to the level of the second.
    """
    points = draw(plan, np.random.default_rng(seed))
    shift = KAPPA_PER_KT * shift_kt
    points = replace(points, y=points.y + shift * (points.group_of[points.aircraft] == 1))
    highest = supported_order(points) if order is None else order
    found = contrast(fit_checked(points, highest)[0], 0, 1)
    band = found.band(lift_at(LOOKED_AT_KT))
    held = (band.low <= shift) & (shift <= band.high)
    return float(found.p_value < LEVEL), *held.astype(float)


def pairings_shrunk(plan: Plan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return what the shrunk curves of the pairings of a port are worth, on average.

    `plan.groups` pairings whose levels differ by `plan.bend` knots. Covered at
    three speeds; squared errors at 100 kt, shrunk and alone, in kt^2; pairings
    called different.
    """
    rng = np.random.default_rng(seed)
    straight = replace(plan, bend=0.0)
    points = draw(straight, rng)
    moved = KAPPA_PER_KT * plan.bend * rng.standard_normal(plan.groups)
    points = replace(points, y=points.y + moved[points.group_of[points.aircraft]])
    fit, _ = fit_checked(points, order)
    shrunk = pool_pairings(fit, np.zeros(plan.groups, dtype=np.int64))
    lift = lift_at(LOOKED_AT_KT)
    held, errors = np.zeros(len(lift)), np.zeros(2)
    for group in range(plan.groups):
        truth = mean_curve(straight, lift) + moved[group]
        band, alone = shrunk.band(group, lift), fit.mean_band(group, lift)
        held += ((band.low <= truth) & (truth <= band.high)) / plan.groups
        misses = np.array([b.centre[1] - truth[1] for b in (band, alone)]) / KAPPA_PER_KT
        errors += misses**2 / plan.groups
    return (*held, *errors, float(shrunk.alike[0] < LEVEL))
