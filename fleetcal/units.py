"""The one place where the trade's units become SI and come back.

Inside the program everything is Pa, K, m, m/s, kg, m3, rad and s. Each factor is
exact by definition (International Yard and Pound Agreement 1959; nautical mile
of 1929) unless its comment says otherwise.
"""

from __future__ import annotations

import math
from typing import Final, TypeVar

import numpy as np
import numpy.typing as npt

Value = TypeVar("Value", float, npt.NDArray[np.float64])

MPS_PER_KT: Final = 1852.0 / 3600.0
MPS_PER_MPH: Final = 1609.344 / 3600.0
MPS_PER_KMH: Final = 1.0 / 3.6
M_PER_FT: Final = 0.3048
MPS_PER_FTMIN: Final = 0.3048 / 60.0
KG_PER_LB: Final = 0.45359237
RAD_PER_DEG: Final = math.pi / 180.0
PA_PER_HPA: Final = 100.0
PA_PER_INHG: Final = 3386.388640341  # conventional inch of mercury at 0 degC
PA_PER_PSI: Final = 6894.757293168
ZERO_DEGC_K: Final = 273.15
M3_PER_L: Final = 1e-3
M3_PER_GAL: Final = 3.785411784e-3  # United States gallon, 231 cubic inches

# unit name -> (factor, offset): SI = value * factor + offset
TO_SI: Final[dict[str, tuple[float, float]]] = {
    "m/s": (1.0, 0.0),
    "kt": (MPS_PER_KT, 0.0),
    "mph": (MPS_PER_MPH, 0.0),
    "km/h": (MPS_PER_KMH, 0.0),
    "ft/min": (MPS_PER_FTMIN, 0.0),
    "m": (1.0, 0.0),
    "ft": (M_PER_FT, 0.0),
    "km": (1000.0, 0.0),
    "Pa": (1.0, 0.0),
    "hPa": (PA_PER_HPA, 0.0),
    "kPa": (1000.0, 0.0),
    "inHg": (PA_PER_INHG, 0.0),
    "psi": (PA_PER_PSI, 0.0),
    "K": (1.0, 0.0),
    "degC": (1.0, ZERO_DEGC_K),
    "degF": (5.0 / 9.0, ZERO_DEGC_K - 32.0 * 5.0 / 9.0),
    "rad": (1.0, 0.0),
    "deg": (RAD_PER_DEG, 0.0),
    "kg": (1.0, 0.0),
    "lb": (KG_PER_LB, 0.0),
    "kg/h": (1.0 / 3600.0, 0.0),
    "lb/h": (KG_PER_LB / 3600.0, 0.0),
    "l": (M3_PER_L, 0.0),
    "gal": (M3_PER_GAL, 0.0),
    "l/h": (M3_PER_L / 3600.0, 0.0),
    "gal/h": (M3_PER_GAL / 3600.0, 0.0),
    "s": (1.0, 0.0),
    "min": (60.0, 0.0),
    "h": (3600.0, 0.0),
    "1": (1.0, 0.0),
    "%": (0.01, 0.0),
}


def to_si(value: Value, unit: str) -> Value:
    """Convert a value or an array from a named unit to SI.

    Args:
        value: Float or ndarray, any shape.
        unit: A key of `TO_SI`.

    Returns:
        Same shape, in the SI unit of the quantity.

    Raises:
        KeyError: If the unit is not one of `TO_SI`.
    """
    factor, offset = TO_SI[unit]
    converted = value * factor
    converted += offset  # a long column is not copied twice
    return converted


def from_si(value: Value, unit: str) -> Value:
    """Convert a value or an array from SI to a named unit, the inverse of `to_si`.

    Args:
        value: Float or ndarray, any shape.
        unit: A key of `TO_SI`.

    Returns:
        Same shape, in the named unit.

    Raises:
        KeyError: If the unit is not one of `TO_SI`.
    """
    factor, offset = TO_SI[unit]
    return (value - offset) / factor


def normal_bearing_deg(angle_rad: float) -> float:
    """Return an angle in radians as a bearing in degrees, at least 0 and below 360."""
    bearing = math.degrees(angle_rad) % 360.0
    return 0.0 if bearing >= 360.0 else bearing
