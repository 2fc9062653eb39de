"""The weight of a flight for which none is given, and whether a given one can be meant."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fleetcal.services.plausible_weight import require_plausible_weight
from fleetcal.store.undescribed import weight_is_supposed

if TYPE_CHECKING:
    from fleetcal.store import Airframe


@dataclass(frozen=True, kw_only=True)
class WeightTaken:
    """The weight that a flight is reduced with.

    Attributes:
        weight_kg: None where a take-off weight decides.
        supposed: Whether nobody stated it; it is kept as such, and follows the reference weight.
    """

    weight_kg: float | None
    supposed: bool = False
    warnings: tuple[str, ...] = ()


def weight_taken(
    airframe: Airframe, weight_kg: float | None, takeoff_weight_kg: float | None = None
) -> WeightTaken:
    """Return the weight to reduce a flight with: as given, else the type's reference weight.

    Args:
        airframe: In an open session.

    Raises:
        ImplausibleError: If no aircraft of the type weighs so much or so little.
    """
    kind, tag = airframe.aircraft_type, airframe.tag
    for given in (weight_kg, takeoff_weight_kg):
        if given is not None and not weight_is_supposed(kind.note):
            require_plausible_weight(given, kind.name, kind.reference_weight_kg)
    if weight_kg is not None or takeoff_weight_kg is not None:
        return WeightTaken(weight_kg=weight_kg)
    reference = kind.reference_weight_kg
    warning = f"no weight given: the type's reference weight {reference:.0f} kg is taken"
    if weight_is_supposed(kind.note):
        warning = (
            f"no weight given, and none is known of {tag}: {reference:.0f} kg is supposed. The "
            "airspeed error hardly depends on it; 'fleetcal fleet airframe "
            f"{tag} --weight-kg KG' corrects it later, in this flight too"
        )
    return WeightTaken(weight_kg=reference, supposed=True, warnings=(warning,))
