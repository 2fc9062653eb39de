"""What the plan of a flight rests on: the airframe, its group, and what is known of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import DataError, FitError, UnknownNameError
from fleetcal.fleet.foreseen_own import TWO_SIDED_95, ForeseenOwn
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.next_points import FlightToCome, own_covariance
from fleetcal.fleet.pooled import PooledFit
from fleetcal.fleet.usual_sortie import UsualSortie
from fleetcal.services.bench.bench_corrections import BenchInForce, bench_in_force
from fleetcal.services.curves.group_name import GroupName, Member
from fleetcal.services.curves.judge_airframes import judge_known
from fleetcal.services.curves.member_choice import MemberChoice
from fleetcal.services.curves.pool_members import pool_of
from fleetcal.services.curves.pooled_curve import CurveRequest, fit_pool
from fleetcal.services.curves.position_error import gather_points
from fleetcal.services.curves.speed_grid import knots_for_each_kappa, lift_at
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.services.handbook.carried_limits import CarriedLimit
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.services.performance.known_curve import CurveInGroup, KnownCurve
from fleetcal.services.performance.limits_of_airframe import carried_port, limits_of_airframe
from fleetcal.services.performance.permitted_speeds import permitted_speeds, slowest_on_port
from fleetcal.services.performance.plan_values import PlanRequest
from fleetcal.services.performance.settle_question import KnownChange
from fleetcal.services.performance.usual_test_flight import usual_of_legs
from fleetcal.services.plausible_weight import require_plausible_weight
from fleetcal.store import AirframeDescription, Store, load_description


@dataclass(frozen=True, kw_only=True)
class PlanBasis:
    """What a plan rests on.

    Attributes:
        fit: Of them; None where the airframe's own curve is planned by.
        group: Of what the airframe carries last.
        place: Number of the airframe in it; None without points.
        speeds: That may be proposed, kt.
        limits: On the port that the airframe carries, at the weight.
        slowest_kt: 1.3 times the stall speed there.
        change: When a change is asked about.
        usual: What a point to come leaves uncertain; learnt from what is known when None.
        own: The airframe's own curve.
        flown: Whether anything is known but what any static source may be.
    """

    known: TypePoints
    fit: PooledFit | None
    group: int
    place: int | None
    speeds: Array
    weight_kg: float
    limits: tuple[CarriedLimit, ...]
    slowest_kt: float
    change: KnownChange | None = None
    usual: UsualSortie | None = None
    own: ForeseenOwn | None = None
    flown: bool = True

    @property
    def lift(self) -> Array:
        """(Vs/Viw)^2 at the speeds."""
        return lift_at(self.known.type, self.speeds, self.weight_kg)

    @property
    def covariance(self) -> Array:
        """What is not known of the airframe's own curve, after a change if that is asked about."""
        if self.change is not None:
            return self.change.covariance
        assert self.fit is not None  # of a group
        return own_covariance(self.fit, self.group, self.place)

    @property
    def curve(self) -> KnownCurve:
        """What is known of the curve that the plan is to narrow."""
        if self.own is not None:
            return self.own
        assert self.fit is not None
        return CurveInGroup(covariance=self.covariance, x=self.lift, factor=self.fit.phi)

    @property
    def half_kt(self) -> Array:
        """Half width of a 95 % band for each unit of standard deviation, kt."""
        about = 0.0 if self.own is None else self.own.curve.centre(self.lift)
        return np.asarray(TWO_SIDED_95 * knots_for_each_kappa(self.speeds, about))

    def flight(self, speeds: Array) -> FlightToCome:
        """Return a test flight at some speeds, kt, as such flights usually are."""
        lift = lift_at(self.known.type, speeds, self.weight_kg)
        u_own, u_shared = self.usual_sortie.at(lift, self.curve.factor)
        return FlightToCome(x=lift, u_own=u_own, u_shared=u_shared)

    @cached_property
    def usual_sortie(self) -> UsualSortie:
        """What a point of a test flight to come leaves uncertain."""
        return usual_of_legs(self.known) if self.usual is None else self.usual


def planned_airframe(store: Store, tag: str) -> tuple[AirframeDescription, BenchInForce]:
    """Return an airframe that something is fitted to, and the checks of its indicators."""
    with store.lookup() as reader:
        for airframe in load_description(reader).airframes:
            if airframe.tag.casefold() == tag.strip().casefold():
                if not airframe.fits:
                    raise DataError(
                        f"nothing is fitted to {airframe.tag}",
                        f"enter its equipment: 'fleetcal fleet airframe {airframe.tag}'",
                    )
                return airframe, bench_in_force(reader, airframe.tag, date.max)
    raise UnknownNameError(
        f"there is no airframe {tag!r} in the store", "see 'fleetcal show fleet'"
    )


def plan_basis(
    store: Store,
    airframe: AirframeDescription,
    flaps: str,
    wished: PlanRequest,
    earlier_too: bool = False,
) -> tuple[PlanBasis, GroupName, tuple[str, ...]]:
    """Return the points of the airframe's type, and the group of what it carries last.

    Raises:
        FitError: If fewer than three airframes flew it.
    """
    known, group, notes = _known_group(store, airframe, flaps, earlier_too)
    number = known.groups.index(group)
    member = Member(airframe.tag, group)
    place = known.members.index(member) if member in known.members else None
    kind = known.type
    weight = kind.reference_weight_kg if wished.weight_kg is None else wished.weight_kg
    require_plausible_weight(weight, kind.name, kind.reference_weight_kg)
    request = CurveRequest(
        group=str(group), type=known.type.name, flap_setting=flaps, weight_kg=weight
    )
    # limits go by the curve that is published, but the airframe itself is always in it
    pool = pool_of(known, judge_known(known)[1], MemberChoice(kept=(airframe.tag,)), [group])
    fitted = fit_pool(request, pool, group)
    fit = fit_checked(known.points)[0] if pool.left_out else fitted.pooled
    others = pool.known.members
    own = others.index(member) if member in others else None
    with store.lookup() as reader:
        handbooks = load_description(reader).handbooks
    port = FittedPort(fitted)  # for both, as its bands take long
    limits = limits_of_airframe(handbooks, airframe, port, own)
    slowest = slowest_on_port(port, handbooks, carried_port(airframe))
    speeds = permitted_speeds(
        known,
        number,
        weight,
        limits=limits,
        slowest_kt=slowest,
        rough_air=wished.rough_air,
        fastest_kt=wished.fastest_kt,
    )
    basis = PlanBasis(
        known=known,
        fit=fit,
        group=number,
        place=place,
        speeds=speeds,
        weight_kg=weight,
        limits=limits,
        slowest_kt=slowest,
    )
    return basis, group, notes


def _known_group(
    store: Store, airframe: AirframeDescription, flaps: str, earlier_too: bool
) -> tuple[TypePoints, GroupName, tuple[str, ...]]:
    """Return the first group with enough airframes: the pairing, its port, earlier fits."""
    fits = sorted(airframe.fits, key=lambda fit: fit.from_date, reverse=True)
    names = [
        name
        for fit in (fits if earlier_too else fits[:1])
        for name in (
            str(GroupName(fit.static_source, fit.engine, fit.propeller)),
            fit.static_source,
        )
    ]
    refusals: list[FitError] = []
    for name in names:
        try:
            known, group = gather_points(store, airframe.type, flaps, name)
        except FitError as error:
            refusals.append(error)
            continue
        assert group is not None  # one was asked for
        notes = (f"planned with {group}: {refusals[0].message}",) if refusals else ()
        return known, group, notes
    raise refusals[min(1, len(refusals) - 1)]
