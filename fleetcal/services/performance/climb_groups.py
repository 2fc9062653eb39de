"""Stored climbs or glides sorted by pairing, ready for every pooled fit.

A climb does not ask which port the aircraft carries: the group is the engine
and the propeller at one power state. The port only matters for turning
indicated into calibrated airspeed, which the pooled curve of the port does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from fleetcal.errors import DataError, FitError, UnknownNameError
from fleetcal.fleet.pooled import FEWEST_AIRCRAFT
from fleetcal.services.curves.count_reasons import count_reasons
from fleetcal.services.curves.groups import (
    GroupName,
    Member,
    TypePoints,
    find_type,
    fleet_points,
)
from fleetcal.services.curves.large_enough import fliers_of, large_enough, too_few_words
from fleetcal.services.curves.pool_members import MemberChoice
from fleetcal.services.curves.quantity import Quantity
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.services.performance.climb_airspeeds import calibrated_kt, fitted_ports
from fleetcal.services.performance.climb_points import climb_points, climb_quantity
from fleetcal.services.performance.pairing_drag import (
    accepted_glides,
    carried_words,
    drag_of_pairings,
)
from fleetcal.store import (
    ClimbRow,
    FleetDescription,
    PointRow,
    Store,
    TypeDescription,
    load_description,
    select_climbs,
)


@dataclass(frozen=True, kw_only=True)
class ClimbRequest:
    """Which climbs or glides are asked for.

    Attributes:
        kind: ``climb`` or ``glide``.
        pairing: ``engine / propeller``; the only one when None.
        power_state: The only one when None.
        choice: Who is kept in the pool, or taken out of it.
    """

    kind: str
    pairing: str | None = None
    power_state: str | None = None
    type: str | None = None
    flap_setting: str = "up"
    step_kt: float = 5.0
    choice: MemberChoice = field(default_factory=MemberChoice)


@dataclass(frozen=True, kw_only=True)
class FlownClimbs:
    """Accepted climbs or glides of a type at one power state, whatever was fitted.

    Attributes:
        rows: As `climb_points`; those with a known CAS.
        altitude_ft: That rates are told for: the median of all flown, to 100 ft.
        ports: By static source; None where no curve could be fitted and CAS is taken as IAS.
    """

    description: FleetDescription
    type: TypeDescription
    kind: str
    power_state: str
    flap_setting: str
    rows: tuple[PointRow, ...]
    quantity: Quantity
    altitude_ft: float
    ports: dict[str, FittedPort | None]
    left_out: tuple[str, ...]
    notes: tuple[str, ...]


def flown_climbs(store: Store, request: ClimbRequest) -> FlownClimbs:
    """Read the accepted climbs or glides of a type at one power state.

    Args:
        request: Its pairing is not looked at.

    Raises:
        UnknownNameError: If the type is not in the store.
        DataError: If several power states are stored and none was named.
        FitError: If there is none of the kind.
    """
    with store.reading() as session:
        description = load_description(session)
        type_ = find_type(description, request.type)
        stored = select_climbs(session, type_.name)
    stored = [r for r in stored if r.flap_setting == request.flap_setting]
    power_state, rows, left_out = _accepted(stored, request)
    glides = accepted_glides(stored) if request.kind == "climb" else []
    flown_ports = {r.static_source for r in (*rows, *glides)}
    ports, missing = fitted_ports(store, type_, request.flap_setting, flown_ports)
    cas = calibrated_kt(ports, rows)
    there = np.isfinite(cas)
    if len(rows) and not there.any():
        raise FitError(
            f"too few {request.kind}s at speeds where the curve of the port is known",
            "reduce position-error flights at the speeds of the climbs and glides",
        )
    if not there.all():
        off = int(np.sum(~there))
        left_out.append(f"{off} left out: at their speed the curve of the port was not flown")
    flown = [row for row, known in zip(rows, there, strict=True) if known]
    altitude = _median_altitude_ft(flown)
    drag = drag_of_pairings(type_, glides, calibrated_kt(ports, glides))
    points = climb_points(type_, flown, cas[there], drag)
    missing += carried_words(points, flown, type_.reference_weight_kg)
    return FlownClimbs(
        description=description,
        type=type_,
        kind=request.kind,
        power_state=power_state,
        flap_setting=request.flap_setting,
        rows=points,
        quantity=climb_quantity(request.kind, type_, altitude),
        altitude_ft=altitude,
        ports=ports,
        left_out=tuple(left_out),
        notes=tuple(missing),
    )


def pairings_of(flown: FlownClimbs) -> TypePoints:
    """Sort climbs or glides by pairing, those flown by three airframes and more.

    Returns:
        Its groups are pairings, whatever the port.

    Raises:
        FitError: If no pairing was flown by three airframes.
    """
    members = [Member(row.airframe, pairing_name(row)) for row in flown.rows]
    fliers = fliers_of((member.group, member.airframe) for member in members)
    large = large_enough(fliers)
    if not large:
        most = max(map(len, fliers.values()), default=0)
        said = "; ".join(flown.left_out)
        raise FitError(
            f"no pairing has accepted {flown.kind}s of {FEWEST_AIRCRAFT} airframes with "
            f"{flown.power_state}; the largest has {most}{f' ({said})' if said else ''}",
            "reduce flights of more airframes, and position-error flights at those speeds",
        )
    keep = [i for i, member in enumerate(members) if member.group in large]
    rows, owners = [flown.rows[i] for i in keep], [members[i] for i in keep]
    members_kept, points, rows_kept = fleet_points(flown.type, rows, owners, large)
    return TypePoints(
        type=flown.type,
        flap_setting=flown.flap_setting,
        groups=tuple(large),
        members=members_kept,
        points=points,
        rows=rows_kept,
        too_small=too_few_words(fliers),
        quantity=flown.quantity,
    )


def pairing_name(row: PointRow) -> GroupName:
    """Return the group of a row."""
    return GroupName("", row.engine, row.propeller)


def find_pairing(groups: Sequence[GroupName], text: str) -> GroupName:
    """Return the pairing that a text names.

    Args:
        groups: That were flown.
        text: ``engine / propeller``, in any case.

    Raises:
        UnknownNameError: If it is none of them.
    """
    names = [str(group).casefold() for group in groups]
    if text.strip().casefold() not in names:
        raise UnknownNameError(
            f"pairing {text!r} was not flown, or not by enough airframes",
            f"known: {'; '.join(map(str, groups))}" if groups else "reduce more flights",
        )
    return groups[names.index(text.strip().casefold())]


def _left_out(rows: Sequence[ClimbRow], kind: str) -> list[str]:
    """Return what was rejected or is barred, with the reason."""
    rejected = [(row.airframe, row.reason) for row in rows if not row.accepted]
    barred = [(row.airframe, row.barred) for row in rows if row.accepted and row.barred]
    return [*count_reasons(rejected, kind), *count_reasons(barred, kind)]


def _accepted(
    stored: Sequence[ClimbRow], request: ClimbRequest
) -> tuple[str, list[ClimbRow], list[str]]:
    """Return the power state, what was flown at it and is accepted, and what is left out."""
    rows = [row for row in stored if row.kind == request.kind]
    power_state = _power_state(rows, request)
    rows = [row for row in rows if row.power_state == power_state]
    accepted = [row for row in rows if row.accepted and not row.barred]
    return power_state, accepted, _left_out(rows, request.kind)


def _median_altitude_ft(rows: Sequence[ClimbRow]) -> float:
    """Return the median pressure altitude to 100 ft; 0 of nothing."""
    heights = [row.pressure_altitude_ft for row in rows]
    return float(np.round(np.median(heights), -2)) if heights else 0.0


def _power_state(rows: Sequence[ClimbRow], request: ClimbRequest) -> str:
    states = sorted({row.power_state for row in rows})
    if request.power_state is None and len(states) > 1:
        raise DataError(
            f"{request.kind}s are stored at several power states: {', '.join(states)}",
            "name one with --power-state",
        )
    if not states or (request.power_state is not None and request.power_state not in states):
        wanted = f" at {request.power_state!r}" if request.power_state else ""
        raise FitError(
            f"no {request.kind}{wanted} with flaps {request.flap_setting} is in the store",
            f"known: {', '.join(states)}"
            if states
            else "reduce some with 'fleetcal reduce --quantity climb' or 'glide'",
        )
    return request.power_state or states[0]
