"""Plan the next flight of one airframe: the speeds that narrow its own curve most.

Tolerances, times and margins are common practice, no published source.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import DataError, FitError, UnknownNameError
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.next_points import own_covariance, plan_points, width_after
from fleetcal.fleet.pooled import PooledFit
from fleetcal.services.curves.groups import GroupName, Member, TypePoints, gather_points
from fleetcal.services.curves.speed_grid import (
    REACH_KT,
    ias_at_weight,
    lift_at,
    speed_correction_kt,
)
from fleetcal.store import Store, TypeDescription, load_description

STALL_MARGIN: Final = 1.3
NEVER_EXCEED_MARGIN: Final = 0.9
_STEP_KT: Final = 5.0
_TWO_SIDED_95: Final = 1.959964
_FULL_TURN_DEG: Final = 360.0
_SMALL_KAPPA: Final = 1e-4


@dataclass(frozen=True)
class PlanRequest:
    """What is to be planned.

    Attributes
    ----------
    airframe : str
    points : int
        Runs in the sortie.
    flap_setting : str
    weight_kg : float or None
        Expected weight; the reference weight if None.
    altitude_ft : float
        Pressure altitude.
    wind_from_deg : float or None
        Expected, for the choice of tracks.
    """

    airframe: str
    points: int = 4
    flap_setting: str = "up"
    weight_kg: float | None = None
    altitude_ft: float = 4000.0
    wind_from_deg: float | None = None


@dataclass(frozen=True)
class PlannedRun:
    """One run of the card.

    `before_kt` and `after_kt` are half the width of the 95 % band of the
    airframe's own correction at that speed, now and after the whole sortie.
    """

    order: int
    ias_kt: float
    repeats: int
    before_kt: float
    after_kt: float
    smooth_air_only: bool


@dataclass(frozen=True)
class FlightPlan:
    """The card of the next flight.

    Attributes
    ----------
    airframe, type, group, flap_setting : str
    weight_kg, altitude_ft : float
    runs : tuple of PlannedRun
        In the order in which they help: a flight cut short keeps the best.
    largest_before_kt, largest_after_kt, largest_equal_kt : float
        Largest half width over the speeds of the group: now, after the plan,
        and after as many points equally spaced.
    largest_at_kt : float
        Where it is now.
    tracks_deg : tuple of float
        Of the legs of each run; the last repeats the first, against a wind that veers.
    card : tuple of str
        What to hold, write down and repeat, and when to stop.
    notes : tuple of str
    """

    airframe: str
    type: str
    group: str
    flap_setting: str
    weight_kg: float
    altitude_ft: float
    runs: tuple[PlannedRun, ...]
    largest_before_kt: float
    largest_after_kt: float
    largest_equal_kt: float
    largest_at_kt: float
    tracks_deg: tuple[float, ...]
    card: tuple[str, ...]
    notes: tuple[str, ...]


CARD: Final = (
    "Settle 20 s at each new track, then hold each leg 60 s; one power setting a run",
    "Hold airspeed within 2 kt, altitude within 50 ft, track within 3 degrees, wings level",
    "Write down for each run: time, fuel, temperature, power, flaps, how smooth the air was",
    "Repeat a leg when the airspeed drifted more than 3 kt, the altitude more than 80 ft, or a "
    "gust moved the needle by more than 5 kt",
    "Stop for weather, traffic, fuel, an engine or airframe doubt, rough air, or when anybody on "
    "board wants to",
)


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
        If nothing is fitted to it, or no speed may be proposed.
    FitError
        If its group is too small for a curve.
    """
    kind, group, known, notes = _known(store, request)
    fit, _ = fit_checked(known.points)
    number = known.groups.index(group)
    member = Member(_tag(store, request.airframe), group)
    place = known.members.index(member) if member in known.members else None
    covariance = own_covariance(fit, number, place)
    weight = request.weight_kg or kind.reference_weight_kg
    speeds = _speeds(known, number, weight, request.flap_setting)
    lift = lift_at(kind, speeds, weight)
    scale = _knots_for_each_kappa(speeds)
    u_own, u_shared = _usual(known, fit)
    plan = plan_points(covariance, lift, lift, scale, u_own, u_shared, request.points)
    spaced = np.linspace(speeds[0], speeds[-1], request.points)
    equal = width_after(covariance, lift_at(kind, spaced, weight), lift, u_own, u_shared)
    half = _TWO_SIDED_95 * scale
    before, after = half * plan.before, half * plan.after[-1]
    if place is None:
        notes += (f"{member.airframe} has no accepted point in this group yet",)
    return FlightPlan(
        member.airframe,
        kind.name,
        str(group),
        request.flap_setting,
        weight,
        request.altitude_ft,
        _runs(plan.chosen.tolist(), speeds, before, after, kind),
        float(before.max()),
        float(after.max()),
        float((half * equal).max()),
        float(speeds[np.argmax(before)]),
        _tracks(request.wind_from_deg),
        CARD,
        notes,
    )


def _tag(store: Store, wanted: str) -> str:
    with store.reading() as session:
        tags = [a.tag for a in load_description(session).airframes]
    for tag in tags:
        if tag.casefold() == wanted.strip().casefold():
            return tag
    raise UnknownNameError(f"there is no airframe {wanted!r} in the store", "see 'fleetcal fleet'")


def _known(
    store: Store, request: PlanRequest
) -> tuple[TypeDescription, GroupName, TypePoints, tuple[str, ...]]:
    """Return the points of the airframe's type and the group of what it carries last."""
    tag = _tag(store, request.airframe)
    with store.reading() as session:
        airframe = next(a for a in load_description(session).airframes if a.tag == tag)
    if not airframe.fits:
        raise DataError(f"nothing is fitted to {tag}", "enter its equipment in the fleet file")
    last = max(airframe.fits, key=lambda fit: fit.from_date)
    pairing = GroupName(last.static_source, last.engine, last.propeller)
    try:
        known, group = gather_points(store, airframe.type, request.flap_setting, str(pairing))
        notes: tuple[str, ...] = ()
    except FitError as error:
        known, group = gather_points(store, airframe.type, request.flap_setting, last.static_source)
        notes = (f"planned with all pairings of the port: {error.message}",)
    assert group is not None  # one was asked for
    return known.type, group, known, notes


def _speeds(known: TypePoints, group: int, weight_kg: float, flap_setting: str) -> Array:
    """Return the airspeeds that may be proposed: flown by the group, and with margins."""
    kind = known.type
    flown = [ias_at_weight(row, weight_kg) for row in known.rows_of(group)]
    low, high = min(flown) - REACH_KT, max(flown) + REACH_KT
    clean = flap_setting == "up"
    stall = kind.stall_speed_clean_kt if clean else kind.stall_speed_landing_kt
    stall = stall or kind.stall_speed_clean_kt or kind.scaling_speed_kt
    low = max(low, STALL_MARGIN * stall * float(np.sqrt(weight_kg / kind.reference_weight_kg)))
    limits = [kind.never_exceed_kt, None if clean else kind.flap_limit_kt]
    high = min([high, *(NEVER_EXCEED_MARGIN * limit for limit in limits if limit)])
    first, last = np.ceil(low / _STEP_KT), np.floor(high / _STEP_KT)
    if last < first + 1:
        raise DataError(
            f"no speeds are left to propose between {low:.0f} and {high:.0f} kt",
            "the group must have flown between 1.3 times the stall speed and the limits",
        )
    return np.asarray(_STEP_KT * np.arange(first, last + 1.0))


def _knots_for_each_kappa(speeds_kt: Array) -> Array:
    step = np.full(speeds_kt.shape, _SMALL_KAPPA)
    return np.asarray(speed_correction_kt(speeds_kt, step) / _SMALL_KAPPA)


def _usual(known: TypePoints, fit: PooledFit) -> tuple[float, float]:
    """Return what a point of this fleet usually leaves uncertain, of its own and shared."""
    own = float(np.median(known.points.u_own)) * float(np.sqrt(fit.phi))
    shared = np.sqrt((known.points.u_shared**2).sum(axis=1))
    return own, float(np.median(shared)) * float(np.sqrt(fit.phi))


def _runs(
    chosen: list[int], speeds: Array, before: Array, after: Array, kind: TypeDescription
) -> tuple[PlannedRun, ...]:
    """Return each speed once, in the order in which it was first chosen."""
    calm = kind.manoeuvring_speed_kt
    return tuple(
        PlannedRun(
            order,
            float(speeds[k]),
            count,
            float(before[k]),
            float(after[k]),
            calm is not None and float(speeds[k]) > calm,
        )
        for order, (k, count) in enumerate(Counter(chosen).items(), 1)
    )


def _tracks(wind_from_deg: float | None) -> tuple[float, ...]:
    """Return four tracks at right angles, the first into the wind, and the first again."""
    first = (wind_from_deg or 0.0) % _FULL_TURN_DEG
    return tuple((first + turn) % _FULL_TURN_DEG for turn in (0.0, 90.0, 180.0, 270.0, 0.0))
