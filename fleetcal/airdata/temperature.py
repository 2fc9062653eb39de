"""Ambient temperature from a probe that feels part of the ram rise.

Tt = T (1 + 0.2 K M^2) with the recovery factor K of the probe. Source: Gracey,
NASA RP-1046 (1980), chapter 3; the same form is taught for pilot licences.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array


def ambient_temperature(
    probe_temperature_k: npt.ArrayLike, mach: npt.ArrayLike, recovery_factor: npt.ArrayLike
) -> Array:
    """Return the ambient temperature that a probe reading stands for.

    Args:
        probe_temperature_k: Temperature of the probe, K.
        mach (array_like, broadcastable): Mach number.
        recovery_factor (array_like, broadcastable): 0 for a reading already corrected to ambient, 1
            for full ram rise.

    Returns:
        Broadcast shape: Ambient temperature, K.
    """
    m = np.asarray(mach, dtype=np.float64)
    rise = 1.0 + 0.2 * np.asarray(recovery_factor, dtype=np.float64) * m * m
    return np.asarray(probe_temperature_k, dtype=np.float64) / rise


def probe_temperature(
    ambient_temperature_k: npt.ArrayLike, mach: npt.ArrayLike, recovery_factor: npt.ArrayLike
) -> Array:
    """Return the reading of a probe, the inverse of `ambient_temperature`.

    Args:
        ambient_temperature_k: Ambient temperature, K.
        mach, recovery_factor (array_like, broadcastable): Mach number and recovery factor.

    Returns:
        Broadcast shape: Probe temperature, K.
    """
    m = np.asarray(mach, dtype=np.float64)
    rise = 1.0 + 0.2 * np.asarray(recovery_factor, dtype=np.float64) * m * m
    return np.asarray(ambient_temperature_k, dtype=np.float64) * rise
