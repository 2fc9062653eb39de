"""Pressure altitude from an altimeter that is set to another pressure than 1013.25 hPa."""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.flightlog.cells import Floats

_P0_PA: Final = 101325.0
_T0_K: Final = 288.15
_LAPSE_KPM: Final = 0.0065
_G0: Final = 9.80665
_R: Final = 287.05287
_EXPONENT: Final = _R * _LAPSE_KPM / _G0


def pressure_altitude_from_setting(altitude_m: Floats, setting_pa: Floats) -> Floats:
    """Return what the altimeter would show with 1013.25 hPa set.

    The setting moves the zero of the scale: an altimeter shows the standard
    altitude of the outside pressure less the standard altitude of its setting.

    Args:
        altitude_m (n,): As shown, in m.
        setting_pa (n,): Pressure set on the subscale, in Pa.

    Returns:
        Shape (n,): Pressure altitude in m.

    Source: International Standard Atmosphere, ISO 2533:1975, relation of
    pressure and geopotential altitude in the troposphere.
    """
    shift = _T0_K / _LAPSE_KPM * (1.0 - (setting_pa / _P0_PA) ** _EXPONENT)
    return np.asarray(altitude_m + shift, dtype=np.float64)
