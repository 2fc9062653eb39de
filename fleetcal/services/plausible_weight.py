"""Whether a weight can be that of an aircraft of its type, or was given in pounds."""

from __future__ import annotations

from typing import Final

from fleetcal.errors import ImplausibleError
from fleetcal.units import KG_PER_LB

#: Weights that can be meant, as parts of the type's reference weight. The lightest that
#: flies, empty with one light pilot and little fuel, is rarely below 0.55 of the heaviest
#: (common practice, no published source), and a reference weight lies between. A slip of
#: pounds and kilograms is a factor of 2.2: from 0.55 it makes 1.21, and from 1.1 it makes
#: 0.5, so nearly every slip leaves these limits.
PLAUSIBLE_SHARES: Final = (0.5, 1.2)
#: A point of a turning manoeuvre carries its load factor in the weight: 1.41 at 45 degrees
#: of bank, the steepest that is looked for.
TURNING: Final = 1.5


def require_plausible_weight(
    weight_kg: float, type_name: str, reference_kg: float, where: str = "", turning: bool = False
) -> None:
    """Refuse a weight that no aircraft of the type has.

    Args:
        reference_kg: Reference weight of the type.
        where: File and line, for the message.
        turning: Whether the weight holds the load factor of a turn.

    Raises:
        ImplausibleError: The message asks for pounds where a slip of the unit explains the weight.
    """
    words = weight_doubt(weight_kg, type_name, reference_kg, turning=turning)
    if not words:
        return
    low, high = (share * reference_kg for share in PLAUSIBLE_SHARES)
    raise ImplausibleError(
        f"{where}: {words}" if where else words,
        f"give the weight in kilograms, from {low:.0f} to {high:.0f} kg for this type; if its "
        "reference weight is wrong, correct that in the fleet description",
    )


def weight_doubt(
    weight_kg: float, type_name: str, reference_kg: float, *, turning: bool = False
) -> str:
    """Return why a weight is none of its type, empty if it may be one.

    Args:
        turning: Whether the weight holds the load factor of a turn.
    """
    low, high = (share * reference_kg for share in PLAUSIBLE_SHARES)
    if low <= weight_kg <= high * (TURNING if turning else 1.0):
        return ""
    question = _question(weight_kg, low, high)
    return f"{weight_kg:.6g} kg on a {reference_kg:.6g} kg type ({type_name}){question}"


def _question(weight_kg: float, low_kg: float, high_kg: float) -> str:
    fewer, more = weight_kg * KG_PER_LB, weight_kg / KG_PER_LB
    if low_kg <= fewer <= high_kg:
        return f": are these pounds? {weight_kg:.6g} lb is {fewer:.0f} kg"
    if low_kg <= more <= high_kg:
        return f": were kilograms divided by 2.2? {weight_kg:.6g} kg is {more:.0f} lb"
    return ": no aircraft of that type weighs so " + ("little" if weight_kg < low_kg else "much")
