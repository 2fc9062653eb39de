"""What is given of points that are pooled, checked: which quantity, of which airframes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from fleetcal.errors import DataError
from fleetcal.verbs.checked import within

if TYPE_CHECKING:
    from fleetcal.services.curves.quantity import PoolRequest

POSITION_ERROR: Final = "position-error"
_RATES: Final = ("climb", "glide")


def pool_request(
    *,
    quantity: str,
    power_state: str | None,
    type: str | None,
    flap_setting: str,
    usual_spread_kt: float | None = None,
) -> PoolRequest:
    """Return which points of which quantity are asked for, as a service takes it.

    Raises:
        DataError: If a value is outside its limits, or is for another quantity.
        UnknownNameError: If there is no such quantity.
    """
    from fleetcal.services.curves.quantity import PoolRequest
    from fleetcal.services.performance.quantities import quantity_named

    within("usual_spread_kt", usual_spread_kt, 0.1, 10.0)
    found = quantity_named(quantity)
    if power_state is not None and quantity not in _RATES:
        raise DataError(f"power_state is for climb or glide, not for {quantity}", "leave it out")
    if usual_spread_kt is not None and quantity != POSITION_ERROR:
        raise DataError(
            f"usual_spread_kt is for {POSITION_ERROR}, not for {quantity}", "leave it out"
        )
    return PoolRequest(
        quantity=found,
        type=type,
        flap_setting=flap_setting,
        power_state=power_state,
        usual_spread_kt=usual_spread_kt,
    )


def tags_of(name: str, tags: Sequence[str]) -> tuple[str, ...]:
    """Return several tags.

    Raises:
        DataError: If it is a single text, which would be taken letter by letter.
    """
    if isinstance(tags, str):
        raise DataError(f"{name}={tags!r} is one text", f"give a list: {name}=[{tags!r}]")
    return tuple(tags)
