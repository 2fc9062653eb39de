"""How one unit of the same quantity is turned into another."""

from __future__ import annotations

from functools import cache
from typing import Final

from fleetcal.units import from_si, to_si

#: What the subscale of an altimeter may show.
_SETTINGS: Final = {"hPa": (850.0, 1100.0), "inHg": (25.0, 32.5)}


def degrees_celsius(value: float, unit: str) -> float:
    """Return a temperature in degrees Celsius.

    Args:
        unit: ``degC``, ``degF`` or ``K``.
    """
    return float(from_si(to_si(value, unit), "degC"))


def setting_hpa(value: float, unit: str = "") -> float | None:
    """Return an altimeter setting in hPa, None if no altimeter takes it.

    Args:
        unit: ``hPa`` or ``inHg``; empty where the size of the number tells it.
    """
    for known, (low, high) in _SETTINGS.items():
        if unit in ("", known) and low <= value <= high:
            return value * factor_between(known, "hPa")
    return None


@cache
def factor_between(unit: str, other: str) -> float:
    """Return by what a number in one unit is multiplied to be in the other.

    Args:
        unit, other: Of one quantity, without an offset, such as ``kt`` and ``mph``.
    """
    return float(from_si(to_si(1.0, unit), other))
