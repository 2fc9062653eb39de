"""Points that no fit can use, however they came in: an older store or a share may hold some.

They stay as they are and are barred at every reading, so that the others of their type answer.
"""

from __future__ import annotations

from typing import Any, Final

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

#: Of points that are counted and not looked at one by one.
UNFIT: Final = "its numbers are none that a fit can use: see 'fleetcal points list'"


def is_unfit() -> str:
    """Return the SQL for points that no fit can use; the types of their airframes must be joined.

    One condition after the other: a product of numbers that cannot be is no number on a server.
    """
    point, reference = "calibration_point", "aircraft_type.reference_weight_kg"
    square = f"{point}.vic_kt * {point}.vic_kt * {reference}"
    return f"""CASE
        WHEN {point}.kappa NOT BETWEEN {LEAST_KAPPA:f} AND {LARGEST_KAPPA:f}
          OR {point}.u_kappa NOT BETWEEN {FINEST_U_KAPPA:f} AND {COARSEST_U_KAPPA:f}
          OR {point}.vic_kt NOT BETWEEN {SLOWEST_KT:f} AND {FASTEST_KT:f}
          OR {point}.weight_kg < {reference} / {MOST_TIMES:f}
          OR {point}.weight_kg > {reference} * {MOST_TIMES:f} THEN TRUE
        ELSE {square} < {SLOWEST_KT**2:f} * {point}.weight_kg
          OR {square} > {FASTEST_KT**2:f} * {point}.weight_kg
        END"""


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
