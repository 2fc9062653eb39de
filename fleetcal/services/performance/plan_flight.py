"""Plan the next flight of one airframe: the speeds that narrow its own curve most.

Tolerances, times and margins are common practice, no published source.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date
from math import ceil
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import DataError, FitError, UnknownNameError
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.next_points import PlannedPoints, own_covariance, plan_points, width_after
from fleetcal.fleet.pooled import PooledFit
from fleetcal.services.bench.bench_corrections import BenchInForce, bench_in_force
from fleetcal.services.curves.groups import GroupName, Member, TypePoints, gather_points
from fleetcal.services.curves.speed_grid import lift_at, speed_correction_kt
from fleetcal.services.performance.permitted_speeds import (
    calmest_kt,
    permitted_speeds,
    slowest_kt,
)
from fleetcal.services.performance.planned_legs import (
    PlannedLeg,
    legs_in_wind,
    minutes_needed,
    standard_tas_kt,
)
from fleetcal.services.performance.settle_question import (
    Design,
    Outlook,
    change_outlook,
    standing_outlook,
)
from fleetcal.store import (
    AirframeDescription,
    PointFilter,
    Store,
    TypeDescription,
    load_description,
    select_points,
)
from fleetcal.units import MPS_PER_KT

_TWO_SIDED_95: Final = 1.959964
#: Share of the largest band below which a flight is hardly worth it.
_WORTH: Final = 0.15
_SMALL_KAPPA: Final = 1e-4
CLEAN: Final = "up"


@dataclass(frozen=True)
class PlanRequest:
    """What is to be planned.

    Attributes
    ----------
    airframe : str
    points : int
        Runs in the sortie.
    flap_setting : str or None
        Flaps up if None, with a note where another setting is known less.
    weight_kg : float or None
        Expected weight; the reference weight if None.
    altitude_ft : float
        Pressure altitude.
    wind_from_deg, wind_kt : float or None
        Expected, for headings and ground speeds.
    rough_air : bool
        Whether nothing above the manoeuvring speed is wanted.
    question : str or None
        ``standing`` or ``change``: how many such sorties settle it.
    """

    airframe: str
    points: int = 4
    flap_setting: str | None = None
    weight_kg: float | None = None
    altitude_ft: float = 4000.0
    wind_from_deg: float | None = None
    wind_kt: float | None = None
    rough_air: bool = False
    question: str | None = None


@dataclass(frozen=True)
class PlannedRun:
    """One speed of the card, in the order of flying: the fastest first.

    Attributes
    ----------
    order : int
    ias_kt : float
        To be held on the indicator, its own bench correction allowed for.
    repeats : int
        Runs at this speed.
    helps : int
        Place by how much it helps; what to keep of a flight cut short.
    before_kt, after_kt : float
        Half the width of the 95 % band of the airframe's own correction at that
        speed, now and after the whole sortie.
    smooth_air_only : bool
    legs : tuple of PlannedLeg
    """

    order: int
    ias_kt: float
    repeats: int
    helps: int
    before_kt: float
    after_kt: float
    smooth_air_only: bool
    legs: tuple[PlannedLeg, ...]


@dataclass(frozen=True)
class FlightPlan:
    """The plan of the next flight.

    Attributes
    ----------
    airframe, type, group, flap_setting : str
    weight_kg, altitude_ft : float
    wind_from_deg, wind_kt : float or None
    minutes : float
        For the runs, without the flight to the place and back.
    slowest_kt, fastest_kt : int
        Bounds of what is proposed: 1.3 times the stall speed, and the fastest speed
        permitted.
    manoeuvring_kt : int or None
        At the weight.
    runs : tuple of PlannedRun
        In the order of flying.
    largest_before_kt, largest_after_kt, largest_equal_kt : float
        Largest half width over the speeds that may be flown: now, after the plan,
        and after as many points equally spaced over the same speeds.
    gain : float
        Reduction of the largest by the plan over that by equally spaced points.
    largest_at_kt : float
        Where it is now.
    card : tuple of str
        What to hold, write down and repeat, and when to stop.
    notes : tuple of str
    outlook : Outlook or None
        What such sorties would do for the question asked.
    """

    airframe: str
    type: str
    group: str
    flap_setting: str
    weight_kg: float
    altitude_ft: float
    wind_from_deg: float | None
    wind_kt: float | None
    minutes: float
    slowest_kt: int
    fastest_kt: int
    manoeuvring_kt: int | None
    runs: tuple[PlannedRun, ...]
    largest_before_kt: float
    largest_after_kt: float
    largest_equal_kt: float
    gain: float
    largest_at_kt: float
    card: tuple[str, ...]
    notes: tuple[str, ...]
    outlook: Outlook | None = None


CARD: Final = (
    "Settle 20 s on each new heading, then hold each leg 60 s; one power setting a run",
    "Hold airspeed within 2 kt, altitude within 50 ft, heading within 3 degrees, wings level",
    "Write down for each run: time, fuel, temperature, power, flaps, how smooth the air was",
    "Repeat a leg when the airspeed drifted more than 3 kt, the altitude more than 80 ft, or a "
    "gust moved the needle by more than 5 kt",
    "Stop for weather, traffic, fuel, an engine or airframe doubt, rough air, or when anybody on "
    "board wants to",
)


@dataclass(frozen=True)
class _Basis:
    """What a plan rests on."""

    known: TypePoints
    fit: PooledFit
    group: int
    place: int | None
    speeds: Array
    weight_kg: float

    @property
    def lift(self) -> Array:
        return lift_at(self.known.type, self.speeds, self.weight_kg)

    @property
    def covariance(self) -> Array:
        return own_covariance(self.fit, self.group, self.place)


def plan_flight(store: Store, request: PlanRequest) -> FlightPlan:
    """Choose the speeds that most reduce the largest band of an airframe's own curve.

    Parameters
    ----------
    store : Store
    request : PlanRequest

    Returns
    -------
    FlightPlan

    Raises
    ------
    UnknownNameError
        If the airframe is not in the store.
    DataError
        If nothing is fitted to it, no speed may be proposed, or what is expected of
        the day cannot be meant.
    FitError
        If its group is too small for a curve, or for the question asked.
    """
    airframe, bench = _airframe(store, request.airframe)
    flaps = request.flap_setting or CLEAN
    basis, group, notes = _basis(store, airframe, flaps, request.weight_kg, request.rough_air)
    speeds, scale = basis.speeds, _knots_for_each_kappa(basis.speeds)
    u_own, u_shared = _usual(basis.known, basis.lift)
    root = float(np.sqrt(basis.fit.phi))
    lift, count = basis.lift, request.points
    plan = plan_points(basis.covariance, lift, lift, scale, root * u_own, root * u_shared, count)
    spaced = np.linspace(speeds[0], speeds[-1], count) if count > 1 else np.array([speeds.mean()])
    equal = width_after(
        basis.covariance,
        lift_at(basis.known.type, spaced, basis.weight_kg),
        lift,
        root * np.interp(spaced, speeds, u_own),
        root * u_shared,
    )
    half = _TWO_SIDED_95 * scale
    before, after, even = (
        float((half * width).max()) for width in (plan.before, plan.after[-1], equal)
    )
    design = Design(speeds[plan.chosen], lift[plan.chosen], u_own[plan.chosen], u_shared)
    if basis.place is None:
        notes += (f"{airframe.tag} has no accepted point in this group yet",)
    bench_notes = _beyond_bench(bench, speeds[plan.chosen])
    if before - after < _WORTH * before:
        notes += (
            f"these runs would narrow the largest band by {before - after:.2f} kt only: what is "
            "left is shared by all points of a sortie, or is known already",
        )
    if request.flap_setting is None:
        notes += _other_flaps(store, airframe, request, before)
    return FlightPlan(
        airframe.tag,
        basis.known.type.name,
        str(group),
        flaps,
        basis.weight_kg,
        request.altitude_ft,
        request.wind_from_deg,
        request.wind_kt,
        minutes_needed(count),
        *_bounds(basis, flaps),
        _runs(plan, basis, half, request, bench),
        before,
        after,
        even,
        (before - after) / max(before - even, 1e-9),
        float(speeds[np.argmax(half * plan.before)]),
        CARD,
        (*bench_notes, *notes),
        _outlook(store, airframe.tag, request.question, basis, design),
    )


def _airframe(store: Store, wanted: str) -> tuple[AirframeDescription, BenchInForce]:
    """Return an airframe that something is fitted to, and the checks of its indicators."""
    with store.reading() as session:
        for airframe in load_description(session).airframes:
            if airframe.tag.casefold() == wanted.strip().casefold():
                if not airframe.fits:
                    raise DataError(
                        f"nothing is fitted to {airframe.tag}",
                        "enter its equipment in the fleet file",
                    )
                return airframe, bench_in_force(session, airframe.tag, date.max)
    raise UnknownNameError(f"there is no airframe {wanted!r} in the store", "see 'fleetcal fleet'")


def _basis(
    store: Store,
    airframe: AirframeDescription,
    flaps: str,
    weight_kg: float | None,
    rough_air: bool,
) -> tuple[_Basis, GroupName, tuple[str, ...]]:
    """Return the points of the airframe's type, and the group of what it carries last."""
    last = max(airframe.fits, key=lambda fit: fit.from_date)
    pairing = GroupName(last.static_source, last.engine, last.propeller)
    notes: tuple[str, ...] = ()
    try:
        known, group = gather_points(store, airframe.type, flaps, str(pairing))
    except FitError as error:
        known, group = gather_points(store, airframe.type, flaps, last.static_source)
        notes = (f"planned with all pairings of the port: {error.message}",)
    assert group is not None  # one was asked for
    number = known.groups.index(group)
    member = Member(airframe.tag, group)
    place = known.members.index(member) if member in known.members else None
    weight = known.type.reference_weight_kg if weight_kg is None else weight_kg
    speeds = permitted_speeds(known, number, weight, rough_air)
    fit, _ = fit_checked(known.points)
    return _Basis(known, fit, number, place, speeds, weight), group, notes


def _knots_for_each_kappa(speeds_kt: Array) -> Array:
    step = np.full(speeds_kt.shape, _SMALL_KAPPA)
    return np.asarray(speed_correction_kt(speeds_kt, step) / _SMALL_KAPPA)


def _usual(known: TypePoints, lift: Array) -> tuple[Array, float]:
    """Return what a point of this fleet usually leaves uncertain, of its own and shared.

    Its own follows a power of airspeed found in the fleet's points: as kappa it falls
    with speed where the airspeed itself is known to so many knots.
    """
    x, y = np.log(known.points.lift), np.log(known.points.u_own)
    about = x - x.mean()
    power = float(np.clip(about @ y / max(float(about @ about), 1e-12), 0.0, 1.0))
    own = np.exp(np.median(y - power * x)) * lift**power
    shared = np.sqrt((known.points.u_shared**2).sum(axis=1))
    return np.asarray(own), float(np.median(shared))


def _bounds(basis: _Basis, flaps: str) -> tuple[int, int, int | None]:
    """Return the slowest and the fastest speed of the test, and the manoeuvring speed, kt."""
    kind, weight = basis.known.type, basis.weight_kg
    calm = None if kind.manoeuvring_speed_kt is None else int(calmest_kt(kind, weight))
    return ceil(slowest_kt(kind, flaps, weight)), int(basis.speeds[-1]), calm


def _runs(
    plan: PlannedPoints, basis: _Basis, half: Array, request: PlanRequest, bench: BenchInForce
) -> tuple[PlannedRun, ...]:
    """Return each speed once, the fastest first: the slowest are flown lightest."""
    speeds, kind = basis.speeds, basis.known.type
    helps = Counter(plan.chosen.tolist())
    rank = {k: place for place, k in enumerate(helps, 1)}
    return tuple(
        PlannedRun(
            order,
            _to_be_read(bench, float(speeds[k])),
            helps[k],
            rank[k],
            float(half[k] * plan.before[k]),
            float(half[k] * plan.after[-1, k]),
            _smooth_air_only(kind, float(speeds[k]), basis.weight_kg),
            legs_in_wind(
                standard_tas_kt(float(speeds[k]), request.altitude_ft),
                request.wind_from_deg,
                request.wind_kt,
            ),
        )
        for order, k in enumerate(sorted(helps, reverse=True), 1)
    )


def _smooth_air_only(kind: TypeDescription, speed_kt: float, weight_kg: float) -> bool:
    """Tell whether a speed is for smooth air; of an unknown manoeuvring speed a note says so."""
    return kind.manoeuvring_speed_kt is not None and speed_kt > calmest_kt(kind, weight_kg)


def _to_be_read(bench: BenchInForce, speed_kt: float) -> float:
    """Return what the indicator shows at a speed, to 1 kt where its own correction is known."""
    corrected = float(bench.corrected("airspeed", np.array([speed_kt * MPS_PER_KT]))[0])
    own = corrected / MPS_PER_KT - speed_kt
    return speed_kt if bench.airspeed is None else float(round(speed_kt - own))


def _beyond_bench(bench: BenchInForce, speeds: Array) -> tuple[str, ...]:
    if bench.airspeed is None:
        return ("no bench check of the airspeed indicator: its own correction is taken as zero",)
    said = bench.beyond("airspeed", [speeds * MPS_PER_KT])
    applied = f"airspeeds are what the indicator shows, checked {bench.airspeed.checked_on}"
    return (applied, said) if said else (applied,)


def _other_flaps(
    store: Store, airframe: AirframeDescription, request: PlanRequest, largest_kt: float
) -> tuple[str, ...]:
    """Say which other flap setting is known less well than the one planned for."""
    with store.reading() as session:
        wanted = PointFilter(type=airframe.type, accepted=True)
        flown = {row.flap_setting for row in select_points(session, wanted)} - {CLEAN}
    widest, largest = "", largest_kt
    for flaps in sorted(flown):
        try:
            basis, _, _ = _basis(store, airframe, flaps, request.weight_kg, request.rough_air)
        except (DataError, FitError):
            continue
        x = width_after(basis.covariance, np.zeros(0), basis.lift, 1.0, 0.0)
        width = _TWO_SIDED_95 * float(np.max(x * _knots_for_each_kappa(basis.speeds)))
        if width > largest:
            widest, largest = flaps, width
    if not widest:
        return ()
    return (
        f"with flaps {widest} the largest band is wider, ±{largest:.1f} kt: plan that flight with "
        f"--flap-setting {widest!r}",
    )


def _outlook(
    store: Store, tag: str, question: str | None, basis: _Basis, design: Design
) -> Outlook | None:
    if question == "standing":
        return standing_outlook(basis.known, tag, basis.group, basis.place, design)
    if question == "change":
        return change_outlook(store, tag, basis.known.flap_setting, design)
    return None
