"""How one unit of the same quantity is turned into another."""

from __future__ import annotations

from functools import cache

from fleetcal.units import from_si, to_si


@cache
def factor_between(unit: str, other: str) -> float:
    """Return by what a number in one unit is multiplied to be in the other.

    Args:
        unit, other: Of one quantity, without an offset, such as ``kt`` and ``mph``.
    """
    return float(from_si(to_si(1.0, unit), other))
