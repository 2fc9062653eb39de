"""The position error: kappa over (Vs/Viw)^2, told as a correction in knots."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import DataError
from fleetcal.fleet.basis import lift_from_airspeed
from fleetcal.fleet.points import FleetPoints
from fleetcal.services.as_read import never_on_a_bench
from fleetcal.services.cautions import ASSUMPTIONS
from fleetcal.services.curves.group_name import GroupName, Member, group_of
from fleetcal.services.curves.groups import find_type, gather_group
from fleetcal.services.curves.pooled_point import OwnedTerm, PooledPoint, fleet_points
from fleetcal.services.curves.quantity import (
    Circumstances,
    Curve,
    PoolRequest,
    Quantity,
    ReadPoints,
    Scale,
)
from fleetcal.services.curves.speed_grid import bounded_correction_kt
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.services.curves.usual_spread import UsualSpread, learnt_spread
from fleetcal.store import (
    FleetDescription,
    PointFilter,
    Reader,
    Store,
    StoredPoint,
    TypeDescription,
    load_description,
    select_points,
)


class CorrectionScale(Scale):
    """Airspeed is IAS, and the number that is shown the correction CAS - IAS in knots."""

    def shown(self, speed_kt: Array, y: Array, about: Curve) -> Array:
        """Return the correction of kappa."""
        return bounded_correction_kt(speed_kt, y)


def read_points(
    store: Store,
    request: PoolRequest,
    rows: Sequence[StoredPoint] | None = None,
    description: FleetDescription | None = None,
) -> ReadPoints:
    """Read the calibration points of a type at one flap setting.

    Args:
        rows: Those points, if they have been read already.
        description: Of the fleet, likewise.

    Raises:
        UnknownNameError: If the type is not in the store.
        DataError: If a power state is asked for.
    """
    if request.power_state is not None:
        raise DataError("a position error has no power state", "leave --power-state out")
    with store.lookup() as reader:
        if description is None:
            description = load_description(reader)
        kind = find_type(description, request.type)
        if rows is None:
            chosen = PointFilter(type=kind.name, flap_setting=request.flap_setting)
            rows = select_points(reader, chosen)
        usual = _usual_spread(reader, description, kind, request)
    points = pooled_points(kind, rows)
    return ReadPoints(
        quantity=POSITION_ERROR,
        description=description,
        type=kind,
        flap_setting=request.flap_setting,
        scale=CorrectionScale(kind.scaling_speed_kt),
        flown=points_flown(request.flap_setting),
        usual=usual,
        points=[one for one in points if one.accepted and not one.barred],
        barred=[one for one in points if one.accepted and one.barred],
        rejected=[one for one in points if not one.accepted],
    )


def _usual_spread(
    reader: Reader, description: FleetDescription, kind: TypeDescription, request: PoolRequest
) -> UsualSpread:
    """Return what is supposed of the spread: as given, or with what other types show."""
    if request.usual_spread_kt is not None:
        return UsualSpread(kt=request.usual_spread_kt, given=True)
    others = []
    for other in description.types:
        if other.name != kind.name:
            chosen = PointFilter(type=other.name, flap_setting=request.flap_setting)
            points = pooled_points(other, select_points(reader, chosen))
            others.append(_by_pairing([one for one in points if one.accepted and not one.barred]))
    return learnt_spread([points for points in others if len(points.x)])


def _by_pairing(rows: Sequence[PooledPoint]) -> FleetPoints:
    """Return points of a type, the airframes of each pairing a group."""
    members = [Member(row.airframe, group_of(row)) for row in rows]
    aircraft = sorted(set(members), key=lambda one: (str(one.group), one.airframe))
    groups = sorted({one.group for one in aircraft}, key=str)
    return fleet_points(
        rows,
        [aircraft.index(one) for one in members],
        [groups.index(one.group) for one in aircraft],
    )


def points_flown(flap_setting: str) -> Circumstances:
    """Return what points of a flap setting are, in words."""
    return Circumstances(what="points", how=f" with flaps {flap_setting}")


def pooled_points(kind: TypeDescription, rows: Sequence[StoredPoint]) -> list[PooledPoint]:
    """Return calibration points as points of a pool."""
    lift = lift_from_airspeed(
        np.array([row.vic_kt for row in rows], dtype=np.float64),
        kind.scaling_speed_kt,
        np.array([row.weight_kg for row in rows], dtype=np.float64),
        kind.reference_weight_kg,
    ).tolist()
    return [
        PooledPoint.of(
            row,
            number=row.point_id,
            speed_kt=row.vic_kt,
            weight_kg=row.weight_kg,
            x=x,
            y=row.kappa,
            u_y=row.u_kappa,
            terms=tuple(
                OwnedTerm(t.name, t.owner, t.u_kappa) for t in row.terms if t.owner != "point"
            ),
            never_on_bench=never_on_a_bench(row.terms),
        )
        for row, x in zip(rows, lift, strict=True)
    ]


def stored_points(rows: Sequence[PooledPoint]) -> list[StoredPoint]:
    """Return points of a pool of position errors as the store has them."""
    return [row.stored for row in rows if isinstance(row.stored, StoredPoint)]


POSITION_ERROR: Final = Quantity(
    key="position-error",
    name="the position error",
    unit="kt",
    decimals=1,
    smallest=2.0,
    higher="reads {size} slower than the group",
    lower="reads {size} faster than the group",
    the_same="reads as the group",
    y_words="kappa",
    x_words="(Vs/Viw)^2",
    speed="IAS",
    departs_in="correction",
    heading="correction to add, kt",
    one="point",
    many="points",
    needs="reduce flights of more airframes",
    reject="fleetcal points reject",
    by_port=True,
    highest_order=2,
    assumptions=ASSUMPTIONS["curve"],
    record="point",
    counted="points",
    read=read_points,
)


def gather_points(
    store: Store, type_name: str | None, flap_setting: str, group: str | None = None
) -> tuple[TypePoints, GroupName | None]:
    """Read the position errors of a type for one group, or for all: as `gather_groups`."""
    request = PoolRequest(quantity=POSITION_ERROR, type=type_name, flap_setting=flap_setting)
    return gather_group(store, request, group)
