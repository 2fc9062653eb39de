"""Plan the next flight of one airframe: the speeds that narrow its own curve most."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from math import ceil, floor
from typing import Final, TypedDict

import numpy as np

from fleetcal.errors import FitError, ImplausibleError
from fleetcal.fleet.next_points import PlannedPoints
from fleetcal.services.bench.bench_corrections import BenchInForce
from fleetcal.services.handbook.carried_limits import CarriedLimit, usable_kt
from fleetcal.services.handbook.limit_sources import MANOEUVRING
from fleetcal.services.performance.ordinary_flights import ordinary_flights
from fleetcal.services.performance.other_flaps import other_flaps
from fleetcal.services.performance.own_basis import own_basis
from fleetcal.services.performance.plan_basis import (
    PlanBasis,
    plan_basis,
    planned_airframe,
)
from fleetcal.services.performance.plan_values import (
    CARD,
    FlightPlan,
    PlanLimit,
    PlannedRun,
    PlanRequest,
)
from fleetcal.services.performance.planned_legs import (
    legs_in_wind,
    minutes_needed,
    standard_tas_kt,
)
from fleetcal.services.performance.read_on_indicator import (
    beyond_bench,
    on_indicator,
    to_be_read,
)
from fleetcal.services.performance.settle_question import (
    Design,
    Outlook,
    change_outlook,
    known_change,
    standing_outlook,
)
from fleetcal.services.performance.weigh_sorties import ChosenSorties, weigh_sorties
from fleetcal.store import AirframeDescription, Store

__all__ = ["FlightPlan", "PlanRequest", "PlannedRun", "plan_flight"]

CLEAN: Final = "up"
#: Share of the largest band below which a flight is hardly worth it.
_WORTH: Final = 0.15
#: What rounding alone may leave of a whole number.
_ROUNDING: Final = 1e-6


class _Bounds(TypedDict):
    slowest_kt: int
    fastest_kt: int
    manoeuvring_kt: int | None


def plan_flight(store: Store, request: PlanRequest) -> FlightPlan:
    """Choose the speeds that most reduce the largest band of an airframe's own curve.

    Raises:
        UnknownNameError: If the airframe is not in the store.
        DataError: If nothing is fitted to it, no speed may be proposed, or what is expected of the
            day cannot be meant.
        FitError: If its group is too small for the question asked.
    """
    airframe, bench = planned_airframe(store, request.airframe)
    flaps, asks_change = request.flap_setting or CLEAN, request.question == "change"
    basis, group, notes = _basis(store, airframe, flaps, request)
    if asks_change:
        basis = replace(basis, change=known_change(store, airframe.tag, flaps))
    found = weigh_sorties(basis, request.points, _sorties(request))
    plan, equal = found.plan, found.equal
    design = _design(basis, found)
    half = basis.half_kt
    before, after, even = (float(max(half * w)) for w in (plan.before, plan.after[-1], equal))
    notes += _hardly_worth(before, after) + other_flaps(store, airframe, request, basis)
    known_now = basis.change is None or basis.change.after is not None
    now = before if known_now else None
    return FlightPlan(
        airframe=airframe.tag,
        type=basis.known.type.name,
        group=group,
        flap_setting=flaps,
        weight_kg=basis.weight_kg,
        altitude_ft=request.altitude_ft,
        wind_from_deg=request.wind_from_deg,
        wind_kt=request.wind_kt,
        minutes=minutes_needed(request.points),
        sorties=found.sorties,
        weighed=found.weighed,
        ordinary=ordinary_flights(basis),
        **_bounds(basis, bench),
        runs=_runs(plan, basis, known_now, request, bench),
        band_of="own correction" if basis.change is None else "own correction after the change",
        largest_before_kt=now,
        largest_after_kt=after,
        largest_equal_kt=even,
        gain=None if now is None else (now - after) / max(now - even, 1e-9),
        largest_at_kt=float(basis.speeds[np.argmax(half * plan.before)]),
        card=CARD,
        notes=(*beyond_bench(bench, design.ias_kt), *notes),
        limits=tuple(_limit_line(limit, bench) for limit in basis.limits),
        flown=basis.flown,
        own=basis.own is not None,
        outlook=_outlook(airframe.tag, request.question, basis, design),
    )


def _basis(
    store: Store, airframe: AirframeDescription, flaps: str, request: PlanRequest
) -> tuple[PlanBasis, str, tuple[str, ...]]:
    """Return what the plan rests on, the name of the group, and notes: by a large group or alone.

    Raises:
        FitError: If a question about a group was asked, and it is too small.
    """
    if not request.own:
        try:
            basis, group, notes = plan_basis(
                store, airframe, flaps, request, earlier_too=request.question == "change"
            )
        except FitError:
            if request.question is not None:
                raise
        else:
            if request.question != "change" and basis.place is None:
                notes += (f"{airframe.tag} has no accepted point in this group yet",)
            return basis, str(group), notes
    own = own_basis(store, airframe, flaps, request)
    return own.basis, own.called, own.notes


def _sorties(request: PlanRequest) -> int | None:
    """Return how many sorties to plan; None where the plan is to choose.

    Raises:
        ImplausibleError: If a question, which counts sorties, is to be settled by several at once.
    """
    if request.question is None:
        return request.sorties
    if (request.sorties or 1) > 1:
        raise ImplausibleError(
            "--question counts sorties like the planned one, so it does not go with --sorties",
            "leave one of the two out",
        )
    return 1


def _design(basis: PlanBasis, found: ChosenSorties) -> Design:
    """Return the planned points as those of one sortie."""
    chosen = found.plan.chosen
    lift = basis.lift[chosen]
    return Design(basis.speeds[chosen], lift, *basis.usual_sortie.at(lift))


def _hardly_worth(before_kt: float, after_kt: float) -> tuple[str, ...]:
    if before_kt - after_kt >= _WORTH * before_kt:
        return ()
    return (
        f"these runs would narrow the largest band by {before_kt - after_kt:.2f} kt only: what is "
        "left is shared by all points of a sortie, or is known already",
    )


def _bounds(basis: PlanBasis, bench: BenchInForce) -> _Bounds:
    """Return the bounds of the test as the indicator shows them, rounded away from the limits."""
    calm = usable_kt(basis.limits, MANOEUVRING)
    return _Bounds(
        slowest_kt=ceil(on_indicator(bench, basis.slowest_kt) - _ROUNDING),
        fastest_kt=floor(on_indicator(bench, float(basis.speeds[-1])) + _ROUNDING),
        manoeuvring_kt=None if calm is None else floor(on_indicator(bench, calm) + _ROUNDING),
    )


def _limit_line(limit: CarriedLimit, bench: BenchInForce) -> PlanLimit:
    return PlanLimit(
        kind=limit.kind,
        name=limit.name,
        usable_kt=floor(on_indicator(bench, limit.usable_kt) + _ROUNDING),
        ias_kt=limit.ias_kt,
        low_kt=limit.low_kt,
        high_kt=limit.high_kt,
        because=limit.reasons,
    )


def _runs(
    plan: PlannedPoints,
    basis: PlanBasis,
    known_now: bool,
    request: PlanRequest,
    bench: BenchInForce,
) -> tuple[PlannedRun, ...]:
    """Return each speed of a sortie once, the fastest first: the slowest are flown lightest."""
    speeds, calm = basis.speeds, usable_kt(basis.limits, MANOEUVRING)
    half = basis.half_kt
    helps = Counter(zip(plan.sortie.tolist(), plan.chosen.tolist(), strict=True))
    rank = {key: place for place, key in enumerate(helps, 1)}
    fast_first = sorted(helps, key=lambda key: (key[0], -key[1]))
    flown_before = np.cumsum([0, *(helps[key] for key in fast_first)])
    return tuple(
        PlannedRun(
            order=order,
            sortie=sortie + 1,
            ias_kt=to_be_read(bench, float(speeds[k])),
            repeats=helps[sortie, k],
            helps=rank[sortie, k],
            before_kt=float(half[k] * plan.before[k]) if known_now else None,
            after_kt=float(half[k] * plan.after[-1, k]),
            smooth_air_only=calm is not None and float(speeds[k]) > calm,
            legs=legs_in_wind(
                standard_tas_kt(float(speeds[k]), request.altitude_ft),
                request.wind_from_deg,
                request.wind_kt,
                backwards=bool(flown_before[order - 1] % 2),
            ),
        )
        for order, (sortie, k) in enumerate(fast_first, 1)
    )


def _outlook(tag: str, question: str | None, basis: PlanBasis, design: Design) -> Outlook | None:
    if basis.change is not None:
        return change_outlook(basis.change, design)
    if question == "standing":
        return standing_outlook(basis.known, tag, basis.group, basis.place, design)
    return None
