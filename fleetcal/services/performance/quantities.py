"""All pooled quantities, by the key that asks for them."""

from __future__ import annotations

from typing import Final

from fleetcal.errors import UnknownNameError
from fleetcal.services.curves.position_error import POSITION_ERROR
from fleetcal.services.curves.quantity import Quantity
from fleetcal.services.performance.climb import CLIMB, GLIDE
from fleetcal.services.performance.cruise import CRUISE

QUANTITIES: Final = {one.key: one for one in (POSITION_ERROR, CLIMB, GLIDE, CRUISE)}


def quantity_named(key: str) -> Quantity:
    """Return a quantity by its key.

    Raises:
        UnknownNameError: If there is none of that key.
    """
    if key not in QUANTITIES:
        raise UnknownNameError(
            f"{key!r} is no quantity that can be pooled", f"known: {', '.join(QUANTITIES)}"
        )
    return QUANTITIES[key]
