"""Fuel flow and fuel on board as mass."""

from __future__ import annotations

from typing import Final

from fleetcal.units import TO_SI

#: Density that stands for aviation gasoline where volume is logged, kg/m3
#: (common practice, no published source; it varies by some per cent with temperature and grade).
AVGAS_KGPM3: Final = 720.0
_VOLUMES: Final = frozenset({"l", "gal", "l/h", "gal/h"})


def mass_factor(unit: str) -> float:
    """Return what one unit of fuel or fuel flow is in kg or kg/s.

    Args:
        unit: kg, lb, l, gal, or one of them per hour.
    """
    return TO_SI[unit][0] * (AVGAS_KGPM3 if unit in _VOLUMES else 1.0)


def density_words(unit: str, heading: str) -> str | None:
    """Say which density was assumed, None if none had to be."""
    if unit not in _VOLUMES:
        return None
    return f"'{heading}' is a volume: 0.72 kg/l is assumed for the fuel"
