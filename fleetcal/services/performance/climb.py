"""Climbs and glides: the sine of the path times (Vs/V)^2, told as a rate in standard air.

A climb does not ask which static source the aircraft carries: the group is the
engine and the propeller at one power state. The static source only matters for
turning indicated into calibrated airspeed, which its own pooled curve does.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.performance.path_coefficient import rate_from_coefficient
from fleetcal.errors import DataError, FitError
from fleetcal.services.cautions import ASSUMPTIONS
from fleetcal.services.curves.count_reasons import count_reasons
from fleetcal.services.curves.groups import find_type
from fleetcal.services.curves.quantity import (
    Circumstances,
    Curve,
    PoolRequest,
    Quantity,
    ReadPoints,
    Scale,
)
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.services.performance.climb_airspeeds import calibrated_kt, fitted_ports
from fleetcal.services.performance.climb_points import climb_points, standard_tas_mps
from fleetcal.services.performance.pairing_drag import (
    accepted_glides,
    carried_words,
    drag_of_pairings,
)
from fleetcal.store import (
    Store,
    StoredClimb,
    load_description,
    select_climbs,
)
from fleetcal.units import MPS_PER_FTMIN

#: A departure below this everywhere is not called outside: common practice, no published source.
LEAST_FTMIN: Final = 50.0


class RateScale(Scale):
    """Airspeed is CAS, and the number that is shown the rate in ft/min, positive upwards.

    Attributes:
        altitude_ft: Pressure altitude in standard air that rates are for.
        ports: Fitted curve of each static source; None where CAS is taken as IAS.
    """

    def __init__(
        self,
        scaling_speed_kt: float,
        altitude_ft: float,
        ports: Mapping[str, FittedPort | None],
    ) -> None:
        super().__init__(scaling_speed_kt)
        self.altitude_ft, self.ports = altitude_ft, ports

    def shown(self, speed_kt: Array, y: Array, about: Curve) -> Array:
        """Return the rate of a path coefficient."""
        return self.rate_ftmin(speed_kt, y)

    def rate_ftmin(self, cas_kt: Array, y: Array) -> Array:
        """Return the rate of a path coefficient at a CAS."""
        cas = np.asarray(cas_kt, dtype=np.float64)
        tas = standard_tas_mps(cas, self.altitude_ft)
        return rate_from_coefficient(y, tas, self.x_at(cas)) / MPS_PER_FTMIN


def read_points(kind: str, store: Store, request: PoolRequest) -> ReadPoints:
    """Read the climbs or glides of a type at one power state and flap setting.

    Raises:
        UnknownNameError: If the type is not in the store.
        DataError: If several power states are stored and none was named.
        FitError: If there is none of the kind, or the airspeed of none is known.
    """
    with store.lookup() as reader:
        description = load_description(reader)
        type_ = find_type(description, request.type)
        stored = select_climbs(reader, type_.name)
    stored = [r for r in stored if r.flap_setting == request.flap_setting]
    rows = [row for row in stored if row.kind == kind]
    power_state = _power_state(kind, rows, request)
    rows = [row for row in rows if row.power_state == power_state]
    used = [row for row in rows if row.accepted and not row.barred]
    glides = accepted_glides(stored) if kind == "climb" else []
    ports, missing = fitted_ports(
        store,
        type_,
        request.flap_setting,
        {r.static_source for r in (*used, *glides)},
        request.airframe,
    )
    drag = drag_of_pairings(type_, glides, calibrated_kt(ports, glides))
    flown, cas_kt = _with_cas(ports, used)
    if used and not flown:
        raise FitError(
            f"too few {kind}s at speeds where the curve of the port is known",
            "reduce position-error flights at the speeds of the climbs and glides",
        )
    points = climb_points(type_, flown, cas_kt, drag)
    missing += carried_words(points, flown, type_.reference_weight_kg)
    not_used = [row for row in rows if row.barred or not row.accepted]
    known, known_kt = _with_cas(ports, not_used)
    out = climb_points(type_, known, known_kt, drag)
    altitude = _median_altitude_ft(flown)
    return ReadPoints(
        quantity=QUANTITY_OF[kind],
        description=description,
        type=type_,
        flap_setting=request.flap_setting,
        scale=RateScale(type_.scaling_speed_kt, altitude, ports),
        flown=Circumstances(
            what=f"{kind}s",
            how=f" with {power_state}",
            power_state=power_state,
            altitude_ft=altitude,
            left_out=_left_out(kind, len(used) - len(flown), not_used, known),
            notes=tuple(missing),
        ),
        points=points,
        barred=[one for one in out if one.accepted],
        rejected=[one for one in out if not one.accepted],
    )


def _with_cas(
    ports: Mapping[str, FittedPort | None], rows: Sequence[StoredClimb]
) -> tuple[list[StoredClimb], Array]:
    """Return the rows whose CAS is known, and that CAS in kt."""
    there = [row for row in rows if row.static_source in ports]
    cas = calibrated_kt(ports, there)
    known = np.isfinite(cas)
    return [row for row, is_known in zip(there, known, strict=True) if is_known], cas[known]


def _left_out(
    kind: str, off: int, not_used: Sequence[StoredClimb], known: Sequence[StoredClimb]
) -> tuple[str, ...]:
    """Return in words what no pool can have: the airspeed of it is not known."""
    lost = [row for row in not_used if row not in known]
    words = count_reasons(((row.airframe, row.barred or row.reason) for row in lost), kind)
    curve = f"{off} left out: at their speed the curve of the port was not flown"
    return (*words, curve) if off else words


def _median_altitude_ft(rows: Sequence[StoredClimb]) -> float:
    """Return the median pressure altitude to 100 ft; 0 of nothing."""
    heights = [row.pressure_altitude_ft for row in rows]
    return float(np.round(np.median(heights), -2)) if heights else 0.0


def _power_state(kind: str, rows: Sequence[StoredClimb], request: PoolRequest) -> str:
    states, named = sorted({row.power_state for row in rows}), request.power_state
    if named is None and len(states) > 1:
        raise DataError(
            f"{kind}s are stored at several power states: {', '.join(states)}",
            "name one with --power-state",
        )
    if not states or (named is not None and named not in states):
        at = f" at {named!r}" if named else ""
        raise FitError(
            f"no {kind}{at} with flaps {request.flap_setting} is in the store",
            f"known: {', '.join(states)}"
            if states
            else "reduce some with 'fleetcal reduce --quantity climb' or 'glide'",
        )
    return named or states[0]


def _quantity(kind: str, does: str, when_higher: str, when_lower: str) -> Quantity:
    return Quantity(
        key=kind,
        name=f"the {kind}",
        unit="ft/min",
        decimals=0,
        smallest=LEAST_FTMIN,
        higher=f"{does} {{size}} {when_higher} than the group",
        lower=f"{does} {{size}} {when_lower} than the group",
        the_same=f"{does} as the group",
        y_words="sine of the path times (Vs/V)^2",
        x_words="(Vs/V)^2",
        speed="CAS",
        departs_in="rate",
        heading=f"rate of the {kind} in standard air, ft/min, positive upwards",
        one=kind,
        many=f"{kind}s",
        needs="reduce flights of more airframes, and position-error flights at those speeds",
        reject=f"fleetcal points reject --quantity {kind}",
        by_port=False,
        highest_order=2,
        assumptions=ASSUMPTIONS["rate"],
        record="climb",
        counted="measurements",
        read=partial(read_points, kind),
    )


CLIMB: Final = _quantity("climb", "climbs", "faster", "slower")
GLIDE: Final = _quantity("glide", "sinks", "slower", "faster")
QUANTITY_OF: Final = {quantity.key: quantity for quantity in (CLIMB, GLIDE)}
