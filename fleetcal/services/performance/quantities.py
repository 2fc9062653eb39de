"""All pooled quantities, by the key that asks for them.

Who asks for position error, as most do, waits for no other quantity to load.
"""

from __future__ import annotations

from fleetcal.errors import UnknownNameError
from fleetcal.services.curves.position_error import POSITION_ERROR
from fleetcal.services.curves.quantity import Quantity


def quantity_named(key: str) -> Quantity:
    """Return a quantity by its key.

    Raises:
        UnknownNameError: If there is none of that key.
    """
    if key == POSITION_ERROR.key:
        return POSITION_ERROR
    known = all_quantities()
    if key not in known:
        raise UnknownNameError(
            f"{key!r} is no quantity that can be pooled", f"known: {', '.join(known)}"
        )
    return known[key]


def all_quantities() -> dict[str, Quantity]:
    """Return every quantity by its key."""
    from fleetcal.services.performance.climb import CLIMB, GLIDE
    from fleetcal.services.performance.cruise import CRUISE

    return {one.key: one for one in (POSITION_ERROR, CLIMB, GLIDE, CRUISE)}
