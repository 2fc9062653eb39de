"""The curve of level flight that a pairing, or one airframe, flew."""

from __future__ import annotations

from dataclasses import dataclass, field

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.points import FleetPoints
from fleetcal.services.curves.doubts import doubts_of
from fleetcal.services.curves.groups import find_type
from fleetcal.services.curves.member_choice import MemberChoice
from fleetcal.services.curves.pool_of_group import PoolOfGroup, pool_of_group
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.handbook.fitted_port import span_flown
from fleetcal.services.performance.cruise import CRUISE, runs_by_pairing, usable_runs
from fleetcal.services.performance.cruise_runs import (
    CruiseRuns,
    cruise_points,
    middle_scaling_kt,
    power_doubt,
)
from fleetcal.services.performance.cruise_speeds import CruiseCurve, own_cruise, pooled_cruise
from fleetcal.store import (
    CruiseRow,
    PointFilter,
    Store,
    TypeDescription,
    find_airframe,
    load_description,
    select_cruise,
)


@dataclass(frozen=True, kw_only=True)
class CruiseRequest:
    """Which cruise is asked for.

    Attributes:
        pairing: ``engine / propeller``; the only one when None.
        airframe: Tag, for the cruise of this airframe alone.
        power_pct, altitude_ft: Lines beside those of handbooks.
        choice: Who is kept in the pool, or taken out of it.
    """

    pairing: str | None = None
    airframe: str | None = None
    type: str | None = None
    flap_setting: str = "up"
    power_pct: tuple[float, ...] = ()
    altitude_ft: tuple[float, ...] = ()
    choice: MemberChoice = field(default_factory=MemberChoice)


@dataclass(frozen=True, kw_only=True)
class FlownCruise:
    """Runs of one pairing with their curve.

    Attributes:
        rows: All usable runs, in the order of `runs` and `points`.
        pool: None for one airframe alone.
    """

    type: TypeDescription
    pairing: str
    rows: tuple[CruiseRow, ...]
    runs: CruiseRuns
    points: FleetPoints
    scaling_kt: float
    curve: CruiseCurve
    order: int
    phi: float
    notes: tuple[str, ...]
    pool: PoolOfGroup | None = None


def cruise_of_pairing(store: Store, request: CruiseRequest) -> FlownCruise:
    """Pool the runs of a pairing together with the other pairings of the type.

    Raises:
        UnknownNameError: If type or pairing are not there.
        DataError: If several could be meant.
        FitError: If too few airframes flew, or the runs determine no curve.
    """
    pool_request = PoolRequest(
        quantity=CRUISE,
        type=request.type,
        flap_setting=request.flap_setting,
        choice=request.choice,
    )
    found = pool_of_group(store, pool_request, request.pairing)
    everybody, known = found.everybody, found.pool.known
    fit, checks = fit_checked(known.points, known.fixed_order(known.points))
    scaling = known.scale.scaling_speed_kt
    everyones = everybody.rows_of(everybody.groups.index(found.name))
    rows = [row.stored for row in everyones if isinstance(row.stored, CruiseRow)]
    runs = runs_by_pairing(rows, known.weight_kg)
    viw = {row.point.point_id: float(v) for row, v in zip(rows, runs.flight.viw, strict=True)}
    flown = ((row.airframe, viw[row.number]) for row in known.rows_of(found.number))
    span = span_flown(flown, "fly the same powers and altitudes")
    without = tuple(f"without {one}" for one in found.pool.left_out_of(found.name))
    doubts = doubts_of(known, found.number, checks[found.number], fit)
    return FlownCruise(
        type=known.type,
        pairing=str(found.name),
        rows=tuple(rows),
        runs=runs,
        points=cruise_points(runs, scaling),
        scaling_kt=scaling,
        curve=pooled_cruise(fit, found.number, scaling, span),
        order=fit.order,
        phi=fit.phi,
        notes=(
            *without,
            *found.pool.kept_in(found.name),
            *doubts,
            *everybody.too_small,
            *known.flown.left_out,
        ),
        pool=found,
    )


def cruise_of_airframe(store: Store, request: CruiseRequest) -> FlownCruise:
    """Return the cruise of one airframe alone.

    Raises:
        UnknownNameError: If type, airframe or pairing are not there.
        DataError: If several pairings could be meant.
        FitError: If no run is usable, or the runs determine no curve.
    """
    assert request.airframe is not None
    with store.reading() as session:
        kind = find_type(load_description(session), request.type)
        tag = find_airframe(session, request.airframe).tag
        found = select_cruise(
            session,
            PointFilter(type=kind.name, flap_setting=request.flap_setting, airframe=tag),
        )
    rows, left_out = usable_runs(found, request.flap_setting)
    pairing = _own_pairing(rows, request.pairing)
    rows = [row for row in rows if _pairing(row) == pairing]
    runs = runs_by_pairing(rows, kind.reference_weight_kg)
    scaling = middle_scaling_kt(runs)
    points = cruise_points(runs, scaling)
    alone = (
        "one airframe alone: a constant error of its engine display or chart is covered only by "
        "the noted uncertainty of the power"
    )
    return FlownCruise(
        type=kind,
        pairing=pairing,
        rows=tuple(rows),
        runs=runs,
        points=points,
        scaling_kt=scaling,
        curve=own_cruise(points, power_doubt(runs, scaling), scaling),
        order=1,
        phi=1.0,
        notes=(alone, *left_out),
    )


def _pairing(row: CruiseRow) -> str:
    return f"{row.point.engine} / {row.point.propeller}"


def _own_pairing(rows: list[CruiseRow], named: str | None) -> str:
    """Return the pairing that is asked for, or the only one."""
    flown = {name.casefold(): name for name in sorted({_pairing(row) for row in rows})}
    if named is not None and named.strip().casefold() not in flown:
        raise UnknownNameError(
            f"no pairing {named!r} has enough runs with a power",
            f"known: {'; '.join(flown.values())}",
        )
    if named is not None:
        return flown[named.strip().casefold()]
    if len(flown) > 1:
        raise DataError(
            f"several pairings were flown: {'; '.join(flown.values())}", "name one of them"
        )
    return next(iter(flown.values()))
