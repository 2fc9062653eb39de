"""Cruise: the power coefficient over 4 (Vs/VIW)^4, told as airspeed at the same power.

Which static source the aircraft carries has no part in it: the group is the engine
and the propeller. Airspeeds are true airspeeds in standard air at the altitude where
runs were flown, at reference weight.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.performance.generalised_power import abscissa_of, density_ratio, viw_of
from fleetcal.errors import DataError, FitError
from fleetcal.fleet.points import FleetPoints
from fleetcal.services.cautions import ASSUMPTIONS
from fleetcal.services.curves.count_reasons import count_reasons
from fleetcal.services.curves.group_name import GroupName, group_of
from fleetcal.services.curves.groups import find_type
from fleetcal.services.curves.large_enough import fliers_of, large_enough
from fleetcal.services.curves.pooled_point import OwnedTerm, PooledPoint
from fleetcal.services.curves.quantity import (
    Circumstances,
    Curve,
    PoolRequest,
    Quantity,
    ReadPoints,
    Scale,
)
from fleetcal.services.performance.cruise_runs import (
    CruiseRuns,
    cruise_points,
    cruise_runs,
    middle_scaling_kt,
    why_not,
)
from fleetcal.store import CruiseRow, PointFilter, Store, load_description, select_cruise
from fleetcal.units import M_PER_FT

#: A departure below this everywhere is not called outside, kt of true airspeed at the same power.
LEAST_KT: Final = 2.0
_ROUNDS: Final = 20
_NEAR_KT: Final = 1e-6
#: How far power at the same airspeed may be off, up or down, for a speed to be looked for.
_FARTHEST: Final = 0.5
_STEP_X: Final = 1e-4


class CruiseScale(Scale):
    """Airspeed is TAS, and the number that is shown how much faster at the same power, in kt.

    Attributes:
        altitude_ft: Pressure altitude in standard air that airspeeds are for.
    """

    def __init__(self, scaling_viw_kt: float, altitude_ft: float) -> None:
        super().__init__(scaling_viw_kt)
        self.altitude_ft = altitude_ft
        self._viw_per_tas = float(np.sqrt(density_ratio(altitude_ft * M_PER_FT)))

    def x_at(self, speed_kt: Array) -> Array:
        """Return 4 (Vs/VIW)^4."""
        return abscissa_of(np.asarray(speed_kt) * self._viw_per_tas, self.scaling_speed_kt)

    def speed_at(self, x: Array) -> Array:
        """Return the airspeeds that have x."""
        return np.asarray(viw_of(x, self.scaling_speed_kt) / self._viw_per_tas)

    def shown(self, speed_kt: Array, y: Array, about: Curve) -> Array:
        """Return how much faster than `speed_kt` y lets fly than `about` does, at the same power.

        Power goes with y times the cube of airspeed; y is taken to lie as far from the curve at
        all speeds as at this one. NaN where power does not rise with airspeed.
        """
        start = np.asarray(speed_kt, dtype=np.float64)
        x = self.x_at(start)
        away, given = y - about(x), about(x) * start**3
        speed = start.copy()
        for _ in range(_ROUNDS):  # Newton's method; power rises ever more with airspeed
            x = self.x_at(speed)
            needed = about(x) + away
            slope = (about(x + _STEP_X) - about(x - _STEP_X)) / (2.0 * _STEP_X)
            rise = np.asarray(3.0 * needed - 4.0 * x * slope)
            rise[~(rise > 0.0)] = np.nan
            step = (given / speed**2 - needed * speed) / rise
            speed = np.clip(speed + step, (1.0 - _FARTHEST) * start, (1.0 + _FARTHEST) * start)
        return np.asarray(np.where(np.abs(step) < _NEAR_KT, speed - start, np.nan))

    def small(self, speed_kt: Array, step: Array, about: Curve) -> Array:
        """Return what a small step of y is in airspeed."""
        return self.shown(speed_kt, about(self.x_at(speed_kt)) + step, about)


def read_points(store: Store, request: PoolRequest) -> ReadPoints:
    """Read the level runs of a type whose power is noted.

    Raises:
        UnknownNameError: If the type is not in the store.
        DataError: If a power state is asked for.
        FitError: If no run is usable.
    """
    if request.power_state is not None:
        raise DataError("cruise has no power state", "leave --power-state out")
    with store.reading() as session:
        description = load_description(session)
        kind = find_type(description, request.type)
        found = select_cruise(
            session, PointFilter(type=kind.name, flap_setting=request.flap_setting)
        )
    rows, left_out = usable_runs(found, request.flap_setting)
    runs = runs_by_pairing(rows, kind.reference_weight_kg)
    large = large_enough(fliers_of((_pairing(row), row.point.airframe) for row in rows))
    counting = [row for row in rows if _pairing(row) in large] or rows
    scaling = middle_scaling_kt(runs_by_pairing(counting, kind.reference_weight_kg))
    heights = [row.point.pressure_altitude_ft + row.point.dhpc_ft for row in counting]
    scale = CruiseScale(scaling, float(np.round(np.median(heights), -2)))
    return ReadPoints(
        quantity=CRUISE,
        description=description,
        type=kind,
        flap_setting=request.flap_setting,
        scale=scale,
        flown=Circumstances(
            what=f"runs with a power and flaps {request.flap_setting}",
            altitude_ft=scale.altitude_ft,
            left_out=left_out,
        ),
        points=_pooled(rows, runs, scale, kind.reference_weight_kg),
    )


def usable_runs(
    rows: list[CruiseRow], flap_setting: str
) -> tuple[list[CruiseRow], tuple[str, ...]]:
    """Return the runs that can be used for cruise, and in words why the others cannot.

    Raises:
        FitError: If there is none.
    """
    against = [(row, why_not(row)) for row in rows]
    left_out = count_reasons((row.point.airframe, why) for row, why in against if why)
    usable = [row for row, why in against if not why]
    if not usable:
        raise FitError(
            f"no usable run with a power, flaps {flap_setting}, is in the store"
            + (f": {left_out[0]}" if left_out else ""),
            "note the power of runs with 'fleetcal power'",
        )
    return usable, left_out


def _pairing(row: CruiseRow) -> GroupName:
    return group_of(row.point, by_port=False)


def runs_by_pairing(rows: list[CruiseRow], reference_weight_kg: float) -> CruiseRuns:
    """Return runs as arrays, an aircraft for each airframe and pairing."""
    members = sorted({(str(_pairing(row)), row.point.airframe) for row in rows})
    pairings = sorted({name for name, _ in members})
    number = {member: i for i, member in enumerate(members)}
    return cruise_runs(
        rows,
        reference_weight_kg,
        [number[str(_pairing(row)), row.point.airframe] for row in rows],
        [pairings.index(name) for name, _ in members],
    )


def _pooled(
    rows: list[CruiseRow], runs: CruiseRuns, scale: CruiseScale, reference_weight_kg: float
) -> list[PooledPoint]:
    """Return runs as points of a pool."""
    points = cruise_points(runs, scale.scaling_speed_kt)
    speeds = scale.speed_at(points.x)
    return [
        PooledPoint.of(
            row,
            number=row.point.point_id,
            speed_kt=float(speeds[i]),
            weight_kg=reference_weight_kg,
            x=float(points.x[i]),
            y=float(points.y[i]),
            u_y=float(
                np.linalg.norm([points.u_own[i], *points.u_shared[i], *points.u_airframe[i]])
            ),
            terms=_terms(points, i),
        )
        for i, row in enumerate(rows)
    ]


def _terms(points: FleetPoints, i: int) -> tuple[OwnedTerm, ...]:
    """Return the budget of a run; what owns the terms is as `cruise_points` says."""
    temperature, altitude = points.u_airframe[i]
    return (
        OwnedTerm("weight", "sortie", float(points.u_shared[i, 0])),
        OwnedTerm("temperature", "airframe", float(temperature)),
        OwnedTerm("pressure altitude", "airframe", float(altitude)),
    )


CRUISE: Final = Quantity(
    key="cruise",
    name="cruise",
    unit="kt",
    decimals=1,
    smallest=LEAST_KT,
    higher="flies {size} faster at the same power than the group",
    lower="flies {size} slower at the same power than the group",
    the_same="flies as fast as the group at the same power",
    y_words="PIW (Vs/VIW)^3",
    x_words="4 (Vs/VIW)^4",
    speed="TAS",
    departs_in="airspeed at the same power",
    heading="faster than the group's mean at the same power, kt",
    one="run",
    many="runs",
    needs="note the power of more airframes' runs, or ask for one airframe with --airframe",
    reject="fleetcal points reject",
    by_port=False,
    highest_order=1,  # a parabolic polar is a line
    assumptions=ASSUMPTIONS["cruise"],
    record="point",
    counted="runs",
    read=read_points,
)
