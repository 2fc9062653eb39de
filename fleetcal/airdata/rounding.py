"""What rounding leaves behind in the mean of a logged quantity.

Source: B. Widrow, I. Kollar, Quantization Noise (2008), on the bias left in the
mean of a rounded signal that moves.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.flight_pieces import Pieces

_HARMONICS: Final = np.arange(1.0, 201.0)


def rounding_uncertainty(step: float, movement: npt.ArrayLike) -> Array:
    """Return what rounding leaves in the mean of a signal that moves.

    Args:
        step: Smallest step of the logged quantity; 0 if not rounded.
        movement: Standard deviation of the signal within each leg, same unit.

    Returns:
        step/sqrt(12) for a signal at rest; less when the signal crosses steps (harmonics of the
        rounding error of a Gaussian signal).
    """
    moved = np.asarray(movement, np.float64)
    if step <= 0.0:
        return np.zeros_like(moved)
    fading = np.exp(-2.0 * (np.pi * _HARMONICS * moved[..., None] / step) ** 2) / _HARMONICS
    left = step / (np.pi * np.sqrt(2.0)) * np.sqrt((fading**2).sum(axis=-1))
    return np.asarray(np.where(moved > 0.0, left, step / np.sqrt(12.0)))


def pieces_rounding(pieces: Pieces, steps: dict[str, float]) -> dict[str, Array]:
    """Return what rounding leaves in the mean of each piece, by quantity, in SI.

    Args:
        steps: Smallest step of each logged quantity, SI; 0 if not rounded.
    """
    track = np.arctan2(pieces.east_mps, pieces.north_mps)
    middle = np.arctan2(pieces.mean(pieces.east_mps), pieces.mean(pieces.north_mps))
    values = {
        "airspeed": pieces.readings.airspeed_mps,
        "altitude": pieces.readings.altitude_m,
        "temperature": pieces.readings.temperature_k,
        "ground_speed": np.hypot(pieces.east_mps, pieces.north_mps),
        "track": np.angle(np.exp(1j * (track - pieces.each(middle)))),
    }
    return {
        quantity: rounding_uncertainty(
            steps.get(quantity, 0.0), _movement(pieces, np.asarray(series))
        )
        for quantity, series in values.items()
    }


def _movement(pieces: Pieces, series: Array) -> Array:
    return np.sqrt(pieces.mean((series - pieces.each(pieces.mean(series))) ** 2))
