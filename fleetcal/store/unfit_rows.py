"""Points that no fit can use, however they came in: an older store or a share may hold some.

They stay as they are and are barred at every reading, so that the others of their type answer.
"""

from __future__ import annotations

from typing import Any, Final

from sqlalchemy import ColumnElement, case, not_, or_

from fleetcal.records import (
    COARSEST_U_KAPPA,
    FASTEST_KT,
    FINEST_U_KAPPA,
    LARGEST_KAPPA,
    LEAST_KAPPA,
    MOST_TIMES,
    SLOWEST_KT,
    why_unfit,
)
from fleetcal.store.models import AircraftType, CalibrationPoint

#: Of points that are counted and not looked at one by one.
UNFIT: Final = "its numbers are none that a fit can use: see 'fleetcal points list'"


def is_unfit() -> ColumnElement[bool]:
    """Return the condition for points that no fit can use; their types must be joined."""
    point, reference = CalibrationPoint, AircraftType.reference_weight_kg
    beyond = or_(
        not_(point.kappa.between(LEAST_KAPPA, LARGEST_KAPPA)),
        not_(point.u_kappa.between(FINEST_U_KAPPA, COARSEST_U_KAPPA)),
        not_(point.vic_kt.between(SLOWEST_KT, FASTEST_KT)),
        point.weight_kg < reference / MOST_TIMES,
        point.weight_kg > reference * MOST_TIMES,
    )
    square = point.vic_kt * point.vic_kt * reference
    slow_or_fast = or_(
        square < SLOWEST_KT**2 * point.weight_kg, square > FASTEST_KT**2 * point.weight_kg
    )
    # One after the other: a product of numbers that cannot be is no number on a server.
    return case((beyond, True), else_=slow_or_fast)


def barred_as_unfit(point: Any, reference_kg: float) -> str:
    """Return why a point is barred as one that no fit can use, with its number; empty if not.

    Args:
        point: Has the columns of `fleetcal.records.Point`, `point_id` and `sortie_id`.
    """
    why = why_unfit(
        kappa=point.kappa,
        u_kappa=point.u_kappa,
        vic_kt=point.vic_kt,
        weight_kg=point.weight_kg,
        reference_kg=reference_kg,
    )
    if not why:
        return ""
    return f"point {point.point_id} of sortie {point.sortie_id} cannot be used by any fit: {why}"
