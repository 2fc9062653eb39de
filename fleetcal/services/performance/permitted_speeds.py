"""Which airspeeds a plan may propose: with a margin to the stall and to the limits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import DataError, FitError
from fleetcal.services.curves.speed_grid import REACH_KT
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.services.handbook.carried_limits import CarriedLimit, usable_kt
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.services.handbook.limit_sources import (
    FLAPS,
    MANOEUVRING,
    NEVER_EXCEED,
    limit_of_fleet_file,
)
from fleetcal.store import HandbookDescription, TypeDescription
from fleetcal.store.undescribed import is_undescribed

STALL_MARGIN: Final = 1.3
#: Part of never exceed and flap limit that a plan goes up to: common practice.
LIMIT_MARGIN: Final = 0.9
STEP_KT: Final = 5.0
#: How far beyond the speeds flown a plan goes where no limit is known.
FAR_KT: Final = 10.0


def permitted_speeds(
    known: TypePoints,
    group: int,
    weight_kg: float,
    limits: Sequence[CarriedLimit],
    slowest_kt: float,
    rough_air: bool = False,
    fastest_kt: float | None = None,
) -> Array:
    """Return the airspeeds that may be proposed.

    Args:
        known: For the type, and for the speeds that the group has flown.
        limits: Of the type, on the group's port at that weight.
        slowest_kt: From `slowest_on_port`.
        rough_air: Whether nothing above the manoeuvring speed is wanted.
        fastest_kt: That somebody gave.

    Returns:
        Multiples of 5 kt, rising.

    Raises:
        DataError: If no speeds are left.
    """
    flown = [row.speed_at(weight_kg) for row in known.rows_of(group)]
    low, high = min(flown) - REACH_KT, max(flown) + REACH_KT
    bounds = [*_bounds(known, limits), *([] if fastest_kt is None else [fastest_kt])]
    high = min([high, *bounds])
    if rough_air:
        high = min(high, calmest_kt(known.type, limits))
    return _between(
        max(low, slowest_kt),
        high,
        "the group must have flown between 1.3 times the stall speed and the limits",
    )


def own_speeds(
    known: TypePoints,
    flown: Sequence[float],
    *,
    limits: Sequence[CarriedLimit],
    slowest_kt: float,
    rough_air: bool,
    fastest_kt: float | None,
) -> Array:
    """Return the airspeeds that may be proposed to an airframe without a large group.

    Args:
        flown: Speeds of the points that its curve rests on, at the weight; may be none.
        limits, slowest_kt: As of `permitted_speeds`.
        fastest_kt: That somebody gave.

    Returns:
        Multiples of 5 kt, rising: up to 0.9 of never exceed; where no limit is known, to 10 kt
        beyond the fastest flown.

    Raises:
        DataError: If no speeds are left, or nothing says how fast it may fly.
    """
    kind = known.type
    bounds = _bounds(known, limits)
    if not bounds and flown:
        bounds.append(max(flown) + FAR_KT)
    if fastest_kt is not None:
        bounds.append(fastest_kt)
    if not bounds:
        raise DataError(
            f"nothing was flown with flaps {known.flap_setting} yet, and no never-exceed speed of "
            f"{_called(kind)} is known, so no fastest speed can be proposed",
            "give --fastest-kt, or never_exceed_kt of the type in the fleet file",
        )
    if rough_air:
        bounds.append(calmest_kt(kind, limits))
    return _between(
        slowest_kt,
        min(bounds),
        "see 'fleetcal show fleet' for the stall speed and the limits of the type",
    )


def _bounds(known: TypePoints, limits: Sequence[CarriedLimit]) -> list[float]:
    """Return the speeds that a plan stays below for the limits of the type."""
    kinds = (NEVER_EXCEED,) if known.flap_setting == "up" else (NEVER_EXCEED, FLAPS)
    found = [usable_kt(limits, kind) for kind in kinds]
    return [LIMIT_MARGIN * bound for bound in found if bound is not None]


def _between(low: float, high: float, hint: str) -> Array:
    first, last = np.ceil(low / STEP_KT), np.floor(high / STEP_KT)
    if last < first + 1:
        raise DataError(
            f"no speeds are left to propose between {low:.0f} and {high:.0f} kt",
            hint,
        )
    return np.asarray(STEP_KT * np.arange(first, last + 1.0))


def slowest_on_port(
    port: FittedPort, handbooks: Sequence[HandbookDescription], carried: str
) -> float:
    """Return 1.3 times the stall speed as the fitted port shows it at the weight, kt.

    With flaps it is the clean stall speed if need be. Where nobody said what the stall
    speed is (CAS, or the IAS of a port), the highest of what it can mean.

    Args:
        handbooks: For their tables of IAS against CAS.
        carried: The static source of the airframe; where it is not that of the curve, nothing is
            surely carried over.

    Returns:
        The high edge of the band for another aircraft where the speed can be carried, else the
        higher of what is known.

    Raises:
        DataError: If the fleet file gives no stall speed.
    """
    fitted, kind = port.fitted, port.fitted.known.type
    landing = None if fitted.known.flap_setting == "up" else kind.stall_speed_landing_kt
    stall = landing or kind.stall_speed_clean_kt
    if stall is None:
        raise DataError(
            f"no stall speed of {_called(kind)} is known, so no slowest speed can be proposed",
            "enter it: 'fleetcal fleet airframe TAG --stall-kt 42', or stall_speed_clean_kt in the "
            "fleet file",
        )
    factor = STALL_MARGIN * float(np.sqrt(fitted.weight_kg / kind.reference_weight_kg))
    limit = limit_of_fleet_file(kind, "stall", stall, handbooks)
    meant = [cas for cas in (limit.cas_kt, *limit.also_cas_kt) if cas is not None]
    found = [_highest_reading(port, factor * cas, factor * stall) for cas in meant]
    same = carried == fitted.name.static_source
    if limit.also_cas_kt or limit.cas_kt is None or limit.port == carried or not same:
        found.append(factor * stall)
    return max(found)


def _highest_reading(port: FittedPort, cas_kt: float, printed_kt: float) -> float:
    """Return the high edge of the IAS at a CAS; the higher figure where it is not carried."""
    try:
        solved = port.solve(np.array([cas_kt]))
    except FitError:
        return max(cas_kt, printed_kt)
    ias, high = float(solved.ias_kt[0]), float(solved.next_high_kt[0])
    if not np.isfinite(ias):
        return max(cas_kt, printed_kt)
    return high if np.isfinite(high) else max(ias, cas_kt, printed_kt)


def _called(kind: TypeDescription) -> str:
    return "its type" if is_undescribed(kind.name) else f"the {kind.name}"


def calmest_kt(kind: TypeDescription, limits: Sequence[CarriedLimit]) -> float:
    """Return the manoeuvring speed on the fitted port, above which the air must be smooth.

    Args:
        limits: At the weight of the flight: lower for a lighter aircraft, never above that stated.

    Returns:
        IAS, kt.

    Raises:
        DataError: If it is not known.
    """
    found = usable_kt(limits, MANOEUVRING)
    if found is None:
        raise DataError(
            f"no manoeuvring speed of {_called(kind)} is known, so nothing is proposed for "
            "rough air",
            "enter manoeuvring_speed_kt in the fleet file or in a handbook's speeds, or wait for "
            "smooth air",
        )
    return found
