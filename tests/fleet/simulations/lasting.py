"""Fleets whose airspeed indicators keep their errors, and three ways to reckon with that.

Every indicator reads off by a number of knots that stays the same in all sorties,
drawn evenly from within a tolerance. Its stated uncertainty may be anything else.
The three ways: as if drawn anew in each sortie; as an error that all points of an
aircraft have in common; left to the spread between aircraft.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fleetcal.fleet.basis import HIGHEST_ORDER, curve_basis
from fleetcal.fleet.common_errors import common_shifts
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.pooled import fit_sums
from fleetcal.fleet.standing import Standing, all_standings, holm
from fleetcal.fleet.sums import AircraftSums, aircraft_sums

from .bands import LOOKED_AT_KT
from .flags import LEVEL, worth_a_flag
from .invented_fleet import KAPPA_PER_KT, SPEEDS_KT, Plan, lift_at, mean_curve

WAYS = ("each sortie", "the aircraft", "the spread")


@dataclass(frozen=True)
class LastingPlan:
    """What an invented fleet is drawn from.

    Attributes:
        fleet: Its sorties are the most that an aircraft flew, one to so many.
        true_kt, stated_kt: Standard deviation of the indicators' errors, true and stated.
        common_kt: Error of all aircraft alike, true and stated alike, at 100 kt; in kappa it grows
            with the square of airspeed, as that of a recovery factor does.
    """

    fleet: Plan
    true_kt: float = 0.3
    stated_kt: float = 0.3
    common_kt: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """Points with their truth: each aircraft's departure at the speeds looked at, kappa."""

    points: FleetPoints
    port: Array
    indicator: Array
    next_port: Array
    next_indicator: Array


def draw_lasting(plan: LastingPlan, seed: int) -> Drawn:
    """Return the points of one invented fleet."""
    rng = np.random.default_rng(seed)
    fleet, count = plan.fleet, plan.fleet.aircraft
    departures = rng.multivariate_normal(np.zeros(2), fleet.spread, size=count + 1)
    departures[: len(fleet.offsets_kt), 0] += KAPPA_PER_KT * np.array(fleet.offsets_kt)
    off_kt = plan.true_kt * np.sqrt(3.0) * rng.uniform(-1.0, 1.0, count + 1)
    sorties = rng.integers(1, fleet.sorties + 1, count)
    owner = np.repeat(np.arange(count), sorties)
    aircraft = np.repeat(owner, len(SPEEDS_KT))
    sortie = np.repeat(np.arange(len(owner)), len(SPEEDS_KT))
    speed = np.tile(SPEEDS_KT, len(owner)) + rng.uniform(-3.0, 3.0, len(sortie))
    lift = lift_at(speed)
    u_own = 2.0 * fleet.point_kt / speed
    u_shared = np.full((len(speed), 1), KAPPA_PER_KT * fleet.sortie_kt)
    common = KAPPA_PER_KT * plan.common_kt * (speed / 100.0)[:, None] ** 2
    kappa = (
        mean_curve(fleet, lift)
        + np.einsum("ni,ni->n", curve_basis(lift, 1), departures[aircraft])
        + 2.0 * off_kt[aircraft] / speed
        + u_own * rng.standard_normal(len(speed))
        + u_shared[:, 0] * rng.standard_normal(len(owner))[sortie]
        + common[:, 0] * rng.standard_normal()
    )
    stated = 2.0 * plan.stated_kt / speed[:, None]
    group_of = np.zeros(count, dtype=np.int64)
    points = FleetPoints(
        x=lift,
        y=kappa,
        u_own=u_own,
        u_shared=u_shared,
        sortie=sortie,
        aircraft=aircraft,
        group_of=group_of,
        u_airframe=stated,
        u_fleet=common if plan.common_kt else np.zeros((len(speed), 0)),
    )
    port = departures @ curve_basis(lift_at(LOOKED_AT_KT), 1).T
    indicator = 2.0 * off_kt[:, None] / LOOKED_AT_KT
    return Drawn(
        points=points,
        port=port[:-1],
        indicator=indicator[:-1],
        next_port=port[-1],
        next_indicator=indicator[-1],
    )


def sums_with(points: FleetPoints, way: int) -> AircraftSums:
    """Return the sums of one way, by dense inverses where the program has none."""
    if way == 0:
        points = replace(points, u_shared=np.hstack([points.u_shared, points.u_airframe]))
    sums = aircraft_sums(points)
    if way != 1:
        return sums.with_order(1)
    products, log_det = np.zeros_like(sums.products), np.zeros_like(sums.log_det)
    for aircraft, rows in enumerate(points.rows_by_aircraft()):
        lasting = points.u_airframe[rows]
        known = points.error_covariance(rows) + lasting @ lasting.T
        whole = np.c_[curve_basis(points.x[rows], HIGHEST_ORDER), points.y[rows]]
        products[aircraft] = whole.T @ np.linalg.solve(known, whole)
        log_det[aircraft] = np.linalg.slogdet(known)[1]
    return replace(sums, products=products, log_det=log_det).with_order(1)


def lasting_held(way: int, plan: LastingPlan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return, of one invented fleet and one way, what holds and what is flagged.

    Share of speeds at which the mean band holds the port's curve, at which the next
    band holds a further aircraft as its own indicator reads; half widths of both at
    100 kt; share of own departures within their band, as the indicator reads and of
    the port alone with the stated uncertainty added; all offset aircraft flagged;
    any other flagged.
    """
    drawn = draw_lasting(plan, seed)
    points = drawn.points
    fit = fit_sums(sums_with(points, way), 1)
    fit = replace(fit, common=common_shifts(points, fit))
    lift = lift_at(LOOKED_AT_KT)
    mean, following = fit.mean_band(0, lift), fit.next_band(0, lift)
    truth = mean_curve(plan.fleet, lift)
    stated = np.full(len(lift), plan.stated_kt) * 2.0 / LOOKED_AT_KT
    if way == 1:  # the spread is the ports' alone
        half = (following.high - following.low) / 2.0
        more = np.sqrt(half**2 + (1.96 * stated) ** 2) - half
        following = replace(following, low=following.low - more, high=following.high + more)
    one_more = truth + drawn.next_port + drawn.next_indicator
    standings = all_standings(points, fit)
    sure = holm([s.p_value for s in standings]) < LEVEL
    found = sure & np.array([worth_a_flag(points, s) for s in standings])
    bad = np.arange(len(found)) < len(plan.fleet.offsets_kt)
    own = [_own_held(drawn, s, stated, way) for s in standings[len(plan.fleet.offsets_kt) :]]
    return (
        float(np.mean((mean.low <= truth) & (truth <= mean.high))),
        float(np.mean((following.low <= one_more) & (one_more <= following.high))),
        float((mean.high - mean.low)[1] / 2.0 / KAPPA_PER_KT),
        float((following.high - following.low)[1] / 2.0 / KAPPA_PER_KT),
        *np.mean(own, axis=0),
        float(np.all(found[bad])),
        float(np.any(found[~bad])),
    )


def _own_held(drawn: Drawn, standing: Standing, stated: Array, way: int) -> tuple[float, float]:
    """Return the shares of speeds at which an own departure holds, as read and of the port."""
    a, x = standing.aircraft, curve_basis(lift_at(LOOKED_AT_KT), len(standing.departure) - 1)
    told = x @ standing.departure
    u_read = np.sqrt(np.einsum("xi,ij,xj->x", x, standing.covariance, x))
    read = np.abs(told - drawn.port[a] - drawn.indicator[a]) <= 1.96 * u_read
    u_port = np.hypot(u_read, stated) if way == 2 else u_read
    port = np.abs(told - drawn.port[a]) <= 1.96 * u_port
    return float(np.mean(read)), float(np.mean(port))
