"""How finely a recorder writes its values."""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.flightlog.cells import Floats
from fleetcal.units import TO_SI

_STEPS: Final = tuple(
    base * 10.0**power for power in (2, 1, 0, -1, -2, -3, -4) for base in (5.0, 2.5, 2.0, 1.0)
)
# a recorder may have converted values that its sensor gave in another unit
_FAMILIES: Final = (
    ("m/s", "kt", "km/h", "mph"),
    ("m", "ft"),
    ("Pa", "hPa", "inHg"),
    ("K", "degC", "degF"),
    ("rad", "deg"),
)
_MOST_VALUES: Final = 4000
_MOST_LOOKED_AT: Final = 20_000
_A_STRETCH: Final = 1000


def smallest_step(logged: Floats, unit: str, sample: str) -> float:
    """Return the step in which values are logged, in SI.

    Args:
        logged (n,): As written in the file.
        unit: Unit of the file.
        sample: One cell as written: its decimals decide if the values hardly change.

    Returns:
        The largest step of which all differences are multiples; 0 if there is none.
    """
    # the smallest step shows among neighbours, so that a part of a long log is enough
    parts = np.array_split(logged, max(1, logged.size // _MOST_LOOKED_AT)) if logged.size else []
    looked_at = logged if len(parts) < 2 else np.concatenate([p[:_A_STRETCH] for p in parts])
    values = np.unique(looked_at[np.isfinite(looked_at)])
    if values.size < 3:
        return written_step(sample, unit) if values.size else 0.0
    if values.size > _MOST_VALUES:
        values = values[np.linspace(0, values.size - 1, _MOST_VALUES).astype(int)]
    units = next((family for family in _FAMILIES if unit in family), (unit,))
    apart = (values - values[0]) * TO_SI[unit][0]
    smallest = float(np.min(np.diff(values))) * TO_SI[unit][0]
    # written decimals round a converted value
    slack = 1e-3 * smallest + 2e-7 * float(np.max(np.abs(values))) * TO_SI[unit][0]
    best = 0.0
    for name in (unit, *units):
        for step in _STEPS:
            size = step * TO_SI[name][0]
            if best < size <= smallest * 1.02 + slack and _all_multiples(apart, size, slack):
                best = size
    return best


def _all_multiples(apart: Floats, size: float, slack: float) -> bool:
    """Tell whether all differences are multiples of a step, within rounding."""
    off = np.abs(apart - size * np.round(apart / size))
    return bool(np.all(off <= 0.03 * size + slack)) and slack < 0.1 * size


def written_step(sample: str, unit: str) -> float:
    """Return one unit of the last decimal written, in SI.

    Args:
        sample: A number as written.
    """
    mantissa = sample.replace(",", ".").lower().split("e")[0]
    decimals = len(mantissa.split(".")[1]) if "." in mantissa else 0
    return float(10.0**-decimals * TO_SI[unit][0])
