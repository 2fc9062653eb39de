"""Numbers that stand for a missing value whatever the file: minus and nothing but nines."""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.flightlog.plain_numbers import Floats

# what is not below this is surely no code
_FIRST_CODE: Final = -9998.0


def without_codes(numbers: Floats) -> Floats:
    """Replace the codes for a missing value, minus and nothing but nines, by NaN.

    Returns:
        Same shape: From -9999 on downwards: -999 can be a rate of descent and is left to the limits
        of each quantity.
    """
    if np.fmin.reduce(numbers, initial=0.0) >= _FIRST_CODE and not np.isinf(numbers).any():
        return numbers  # as nearly always
    suspect = ~np.isfinite(numbers) | (numbers < _FIRST_CODE)
    places = np.flatnonzero(suspect)
    if not places.size:
        return numbers
    rounded = np.round(numbers[places], 3)
    code = ~np.isfinite(numbers[places])
    for nines in range(4, 9):
        nines_code = 10.0**nines - 1.0
        for part in (0.0, 0.9, 0.99, 0.999):
            code |= np.abs(rounded + (nines_code + part)) < 1e-6 * nines_code * (nines > 6) + 1e-4
    cleaned = numbers.copy()
    cleaned[places[code]] = np.nan
    return cleaned
