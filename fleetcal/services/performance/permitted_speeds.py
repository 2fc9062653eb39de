"""Which airspeeds a plan may propose: with a margin to the stall and to the limits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import DataError
from fleetcal.services.curves.groups import TypePoints
from fleetcal.services.curves.speed_grid import REACH_KT, ias_at_weight
from fleetcal.services.handbook.carried_limits import CarriedLimit, usable_kt
from fleetcal.services.handbook.limit_sources import FLAPS, MANOEUVRING, NEVER_EXCEED
from fleetcal.store import TypeDescription

#: Half width of a 95 % band in standard deviations.
TWO_SIDED_95: Final = 1.959964
STALL_MARGIN: Final = 1.3
#: Part of never exceed and flap limit that a plan goes up to: common practice.
LIMIT_MARGIN: Final = 0.9
STEP_KT: Final = 5.0


def permitted_speeds(
    known: TypePoints,
    group: int,
    weight_kg: float,
    limits: Sequence[CarriedLimit],
    rough_air: bool = False,
) -> Array:
    """Return the airspeeds that may be proposed.

    Parameters
    ----------
    known : TypePoints
        For the type, and for the speeds that the group has flown.
    group : int
    weight_kg : float
    limits : sequence of CarriedLimit
        Of the type, on the group's port at that weight.
    rough_air : bool
        Whether nothing above the manoeuvring speed is wanted.

    Returns
    -------
    ndarray
        Multiples of 5 kt, rising.

    Raises
    ------
    DataError
        If the stall speed is not known, or no speeds are left.
    """
    kind, clean = known.type, known.flap_setting == "up"
    flown = [ias_at_weight(row, weight_kg) for row in known.rows_of(group)]
    low, high = min(flown) - REACH_KT, max(flown) + REACH_KT
    low = max(low, slowest_kt(kind, known.flap_setting, weight_kg))
    kinds = (NEVER_EXCEED,) if clean else (NEVER_EXCEED, FLAPS)
    bounds = [usable_kt(limits, wanted) for wanted in kinds]
    high = min([high, *(LIMIT_MARGIN * bound for bound in bounds if bound is not None)])
    if rough_air:
        high = min(high, calmest_kt(kind, limits))
    first, last = np.ceil(low / STEP_KT), np.floor(high / STEP_KT)
    if last < first + 1:
        raise DataError(
            f"no speeds are left to propose between {low:.0f} and {high:.0f} kt",
            "the group must have flown between 1.3 times the stall speed and the limits",
        )
    return np.asarray(STEP_KT * np.arange(first, last + 1.0))


def slowest_kt(kind: TypeDescription, flap_setting: str, weight_kg: float) -> float:
    """Return 1.3 times the stall speed at a weight, kt; with flaps the clean one if need be.

    Parameters
    ----------
    kind : TypeDescription
    flap_setting : str
    weight_kg : float

    Returns
    -------
    float

    Raises
    ------
    DataError
        If the fleet file gives no stall speed.
    """
    landing = None if flap_setting == "up" else kind.stall_speed_landing_kt
    stall = landing or kind.stall_speed_clean_kt
    if stall is None:
        raise DataError(
            f"no stall speed of the {kind.name} is known, so no slowest speed can be proposed",
            "enter stall_speed_clean_kt in the fleet file",
        )
    return STALL_MARGIN * stall * float(np.sqrt(weight_kg / kind.reference_weight_kg))


def calmest_kt(kind: TypeDescription, limits: Sequence[CarriedLimit]) -> float:
    """Return the manoeuvring speed on the fitted port, above which the air must be smooth.

    Parameters
    ----------
    kind : TypeDescription
    limits : sequence of CarriedLimit
        At the weight of the flight: lower for a lighter aircraft, never above that stated.

    Returns
    -------
    float
        IAS, kt.

    Raises
    ------
    DataError
        If it is not known.
    """
    found = usable_kt(limits, MANOEUVRING)
    if found is None:
        raise DataError(
            f"no manoeuvring speed of the {kind.name} is known, so nothing is proposed for "
            "rough air",
            "enter manoeuvring_speed_kt in the fleet file or in a handbook's speeds, or wait for "
            "smooth air",
        )
    return found
