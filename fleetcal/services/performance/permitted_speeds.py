"""Which airspeeds a plan may propose: with a margin to the stall and to the limits."""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import DataError, ImplausibleError
from fleetcal.services.curves.groups import TypePoints
from fleetcal.services.curves.speed_grid import REACH_KT, ias_at_weight
from fleetcal.store import TypeDescription

STALL_MARGIN: Final = 1.3
NEVER_EXCEED_MARGIN: Final = 0.9
STEP_KT: Final = 5.0
#: Weights that can be meant, as parts of the reference weight.
_WEIGHTS: Final = (0.4, 1.6)


def permitted_speeds(
    known: TypePoints, group: int, weight_kg: float, rough_air: bool = False
) -> Array:
    """Return the airspeeds that may be proposed.

    Parameters
    ----------
    known : TypePoints
        For the type, and for the speeds that the group has flown.
    group : int
    weight_kg : float
    rough_air : bool
        Whether nothing above the manoeuvring speed is wanted.

    Returns
    -------
    ndarray
        Multiples of 5 kt, rising.

    Raises
    ------
    ImplausibleError
        If the weight cannot be meant.
    DataError
        If the stall speed is not known, or no speeds are left.
    """
    kind, clean = known.type, known.flap_setting == "up"
    low_kg, high_kg = (part * kind.reference_weight_kg for part in _WEIGHTS)
    if not low_kg <= weight_kg <= high_kg:
        raise ImplausibleError(
            f"{weight_kg:g} kg is no weight of a {kind.name}",
            f"its reference weight is {kind.reference_weight_kg:g} kg",
        )
    flown = [ias_at_weight(row, weight_kg) for row in known.rows_of(group)]
    low, high = min(flown) - REACH_KT, max(flown) + REACH_KT
    low = max(low, slowest_kt(kind, known.flap_setting, weight_kg))
    limits = [kind.never_exceed_kt, None if clean else kind.flap_limit_kt]
    high = min([high, *(NEVER_EXCEED_MARGIN * limit for limit in limits if limit)])
    if rough_air:
        high = min(high, calmest_kt(kind, weight_kg))
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


def calmest_kt(kind: TypeDescription, weight_kg: float) -> float:
    """Return the manoeuvring speed, lower for a lighter aircraft, never above that stated.

    Parameters
    ----------
    kind : TypeDescription
    weight_kg : float

    Returns
    -------
    float
        kt.

    Raises
    ------
    DataError
        If it is not known.
    """
    if kind.manoeuvring_speed_kt is None:
        raise DataError(
            f"no manoeuvring speed of the {kind.name} is known, so nothing is proposed for "
            "rough air",
            "enter manoeuvring_speed_kt in the fleet file, or wait for smooth air",
        )
    return kind.manoeuvring_speed_kt * min(
        float(np.sqrt(weight_kg / kind.reference_weight_kg)), 1.0
    )
