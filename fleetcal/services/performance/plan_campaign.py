"""Plan test flights one after the other until an airframe's own correction is known well enough.

Nothing is kept between the flights but the points in the store: each time the flights still to be
flown are planned anew, and what the last one changed is worked out without its points and with
them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from math import ceil, floor
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import ImplausibleError
from fleetcal.fleet.foreseen_own import TWO_SIDED_95, ForeseenOwn
from fleetcal.fleet.next_points import FlightToCome, PointsToPlan
from fleetcal.fleet.usual_sortie import UsualSortie
from fleetcal.services.bench.bench_corrections import BenchInForce
from fleetcal.services.curves.fit_airframe import own_fit
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.services.curves.speed_grid import knots_for_each_kappa
from fleetcal.services.performance.campaign_values import Campaign, CampaignFlight, LastFlight
from fleetcal.services.performance.ordinary_flights import ordinary_flights
from fleetcal.services.performance.own_basis import OwnBasis, foreseen_from, own_basis
from fleetcal.services.performance.plan_basis import PlanBasis, planned_airframe
from fleetcal.services.performance.plan_flight import CLEAN, plan_flight
from fleetcal.services.performance.plan_values import OrdinaryFlights, PlanRequest
from fleetcal.services.performance.planned_legs import minutes_needed
from fleetcal.services.performance.read_on_indicator import on_indicator, to_be_read
from fleetcal.services.performance.usual_test_flight import usual_of_airframe
from fleetcal.store import Store

#: Flights that a campaign is planned for at most.
MOST_FLIGHTS: Final = 6
#: Ordinary flights that are tried, until the aim is reached.
_ORDINARY: Final = (1, 2, 3, 5, 10, 20)
_ROUNDING: Final = 1e-6


def plan_campaign(store: Store, request: PlanRequest, within_kt: float) -> Campaign:
    """Plan flights until the largest band of an airframe's own correction is narrow enough.

    Args:
        request: Its runs are those of each flight.
        within_kt: Half width of the 95 % band that is narrow enough.

    Raises:
        UnknownNameError: If the airframe is not in the store.
        DataError: If nothing is fitted to it, or no speed may be proposed.
        ImplausibleError: If sorties were chosen, or a question was asked.
    """
    if request.question is not None or (request.sorties or 1) > 1:
        raise ImplausibleError(
            "--campaign counts flights by itself, so it does not go with --sorties or --question",
            "leave the other out",
        )
    airframe, bench = planned_airframe(store, request.airframe)
    own = own_basis(store, airframe, request.flap_setting or CLEAN, request)
    basis = own.basis
    half = _half_kt(_own(basis), basis)
    flights = _flights(basis, bench, request.points, within_kt)
    now = float(np.max(half))
    return Campaign(
        airframe=airframe.tag,
        type=basis.known.type.name,
        group=own.called,
        flap_setting=basis.known.flap_setting,
        weight_kg=basis.weight_kg,
        within_kt=within_kt,
        slowest_kt=ceil(on_indicator(bench, float(basis.speeds[0])) - _ROUNDING),
        fastest_kt=floor(on_indicator(bench, float(basis.speeds[-1])) + _ROUNDING),
        largest_now_kt=now,
        largest_at_kt=to_be_read(bench, float(basis.speeds[np.argmax(half)])),
        flown=basis.flown,
        flights=flights,
        reached=(flights[-1].largest_after_kt if flights else now) <= within_kt,
        minutes=minutes_needed(request.points),
        last=_last_flight(own),
        ordinary=_ordinary(basis, within_kt),
        notes=own.notes,
        next=plan_flight(store, replace(request, own=True, sorties=1)) if flights else None,
    )


def _own(basis: PlanBasis) -> ForeseenOwn:
    assert basis.own is not None  # a campaign is planned by nothing else
    return basis.own


def _half_kt(own: ForeseenOwn, basis: PlanBasis) -> Array:
    """Return the half width of the 95 % band at the speeds, kt."""
    knots = knots_for_each_kappa(basis.speeds, own.curve.centre(own.x))
    return np.asarray(TWO_SIDED_95 * knots * own.deviation())


def _flights(
    basis: PlanBasis, bench: BenchInForce, runs: int, within_kt: float
) -> tuple[CampaignFlight, ...]:
    own, found = _own(basis), list[CampaignFlight]()
    left = float(np.max(_half_kt(own, basis)))
    while left > within_kt and len(found) < MOST_FLIGHTS:
        flight, place = _planned(own, basis, basis.usual_sortie, runs)
        own = own.after([flight])
        left = float(np.max(_half_kt(own, basis)))
        speeds = tuple(to_be_read(bench, float(basis.speeds[k])) for k in sorted(place)[::-1])
        found.append(
            CampaignFlight(
                flight=len(found) + 1,
                speeds_kt=speeds,
                speeds=_listed(speeds),
                largest_after_kt=left,
            )
        )
    return tuple(found)


def _listed(speeds: Sequence[float]) -> str:
    """Return speeds as text, those that are flown again once: ``125 kt, 2 x 65 kt``."""
    runs = Counter(f"{speed:.0f}" for speed in speeds)
    return ", ".join(f"{many} x {s} kt" if many > 1 else f"{s} kt" for s, many in runs.items())


def _planned(
    own: ForeseenOwn, basis: PlanBasis, usual: UsualSortie, runs: int
) -> tuple[FlightToCome, list[int]]:
    """Return the best flight of so many runs, and the places of its speeds."""
    u_own, u_shared = usual.at(own.x, own.factor)
    scale = knots_for_each_kappa(basis.speeds, own.curve.centre(own.x))
    plan = own.plan(PointsToPlan(scale=scale, u_own=u_own, u_shared=u_shared, count=runs))
    place = plan.chosen
    flight = FlightToCome(x=own.x[place], u_own=u_own[place], u_shared=u_shared[place])
    return flight, place.tolist()


def _last_flight(found: OwnBasis) -> LastFlight | None:
    """Return what the last flight changed, by the points without it and with it."""
    rows, basis = found.found.rows, found.basis
    if not rows:
        return None
    last = max(rows, key=lambda row: (row.flown_on, row.sortie_id))
    flown = [row for row in rows if row.sortie_id == last.sortie_id]
    before, usual = _without(found, [row for row in rows if row.sortie_id != last.sortie_id])
    planned, _ = _planned(before, basis, usual, len(flown))
    x = np.array([row.x for row in flown])
    u_own, u_shared = usual.at(x, before.factor)
    as_flown = FlightToCome(x=x, u_own=u_own, u_shared=u_shared)
    largest = [
        float(np.max(_half_kt(one, basis)))
        for one in (before, _own(basis), before.after([planned]), before.after([as_flown]))
    ]
    return LastFlight(
        flown_on=last.flown_on,
        runs=len(flown),
        before_kt=largest[0],
        after_kt=largest[1],
        foreseen_kt=largest[2],
        flown_foreseen_kt=largest[3],
    )


def _without(found: OwnBasis, rows: Sequence[PooledPoint]) -> tuple[ForeseenOwn, UsualSortie]:
    """Return the airframe's own curve by some of its points, and what a test flight leaves."""
    known = found.found
    fitted = own_fit(known.request, known.read, known.name, rows, known.others)
    others = [row for row in known.read.points if row.airframe != known.request.group]
    usual, lasting = usual_of_airframe(rows, others)
    return foreseen_from(fitted, _own(found.basis).x, lasting), usual


def _ordinary(basis: PlanBasis, within_kt: float) -> OrdinaryFlights:
    """Return what ordinary flights would leave: as few as reach the aim, or the most tried."""
    found = [ordinary_flights(basis, _ORDINARY[0])]
    for number in _ORDINARY[1:]:
        if found[-1].largest_after_kt <= within_kt:
            break
        found.append(ordinary_flights(basis, number))
    return found[-1]
