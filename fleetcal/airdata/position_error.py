"""Static-pressure error coefficient, and the corrections that follow from it.

kappa = (ps_ind - ps) / qcic: the excess of the port's pressure over the free
stream, in units of the impact pressure the indicator feels. The pitot pressure
is taken as free of error, so that one kappa explains both the airspeed and the
altimeter error; no small-error approximation is made. Corrections are added to
a reading (sign convention of FAA AC 23-8B, appendix 9).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array, altitude_from_pressure, pressure_from_altitude
from fleetcal.airdata.pitot_static import (
    airspeed_from_impact_pressure,
    impact_pressure_from_airspeed,
)


@dataclass(frozen=True)
class Corrections:
    """Position corrections, to be added to the reading.

    Attributes:
        airspeed_mps: dVpc = Vc - Vic, m/s.
        altitude_m: dHpc = H - Hic, m.
        airspeed_per_kappa_mps, altitude_per_kappa_m: Their derivatives by kappa.
    """

    airspeed_mps: Array
    altitude_m: Array
    airspeed_per_kappa_mps: Array
    altitude_per_kappa_m: Array


def airspeed_correction(airspeed_mps: npt.ArrayLike, kappa: npt.ArrayLike) -> Array:
    """Return dVpc = Vc - Vic.

    Args:
        airspeed_mps: Vic, m/s.
        kappa (array_like, broadcastable): Static-pressure error coefficient, above -1.

    Returns:
        Broadcast shape: Correction, m/s.

    Raises:
        OutOfRangeError: If Vic, or the calibrated airspeed that follows, is out of range.
    """
    speed = np.asarray(airspeed_mps, dtype=np.float64)
    impact = impact_pressure_from_airspeed(speed)
    return airspeed_from_impact_pressure((1.0 + np.asarray(kappa)) * impact) - speed


def altitude_correction(
    airspeed_mps: npt.ArrayLike, altitude_m: npt.ArrayLike, kappa: npt.ArrayLike
) -> Array:
    """Return dHpc = H - Hic.

    Args:
        airspeed_mps: Vic, m/s.
        altitude_m (array_like, broadcastable): Hic, m.
        kappa (array_like, broadcastable): Static-pressure error coefficient.

    Returns:
        Broadcast shape: Correction, m.

    Raises:
        OutOfRangeError: If an airspeed or altitude is out of range.
    """
    altitude = np.asarray(altitude_m, dtype=np.float64)
    static = pressure_from_altitude(altitude)
    error = np.asarray(kappa) * impact_pressure_from_airspeed(airspeed_mps)
    return altitude_from_pressure(static - error) - altitude


def corrections(
    airspeed_mps: npt.ArrayLike, altitude_m: npt.ArrayLike, kappa: npt.ArrayLike
) -> Corrections:
    """Return both corrections and their derivatives by kappa.

    Args:
        airspeed_mps, altitude_m, kappa (array_like, broadcastable): Vic in m/s, Hic in m, and the
            static-pressure error coefficient.

    Returns:
        Arrays of the broadcast shape. The derivatives are central differences with a step of 1e-4
        in kappa, good to about 1e-8 relative.

    Raises:
        OutOfRangeError: If an airspeed or altitude is out of range.
    """
    k = np.asarray(kappa, dtype=np.float64)
    step = 1e-4
    up, down = k + step, k - step
    return Corrections(
        airspeed_correction(airspeed_mps, k),
        altitude_correction(airspeed_mps, altitude_m, k),
        (airspeed_correction(airspeed_mps, up) - airspeed_correction(airspeed_mps, down))
        / (2 * step),
        (
            altitude_correction(airspeed_mps, altitude_m, up)
            - altitude_correction(airspeed_mps, altitude_m, down)
        )
        / (2 * step),
    )


def kappa_from_airspeeds(airspeed_mps: npt.ArrayLike, calibrated_mps: npt.ArrayLike) -> Array:
    """Return kappa from the indicated and the calibrated airspeed.

    Args:
        airspeed_mps: Vic, m/s, above 0.
        calibrated_mps (array_like, broadcastable): Vc, m/s.

    Returns:
        Broadcast shape: Static-pressure error coefficient.

    Raises:
        OutOfRangeError: If an airspeed is out of range.
    """
    indicated = impact_pressure_from_airspeed(airspeed_mps)
    return impact_pressure_from_airspeed(calibrated_mps) / indicated - 1.0


def kappa_from_altitudes(
    airspeed_mps: npt.ArrayLike, altitude_m: npt.ArrayLike, true_altitude_m: npt.ArrayLike
) -> Array:
    """Return kappa from the indicated and the true pressure altitude.

    Args:
        airspeed_mps: Vic, m/s, above 0.
        altitude_m, true_altitude_m (array_like, broadcastable): Hic and the pressure altitude of
            the free stream, m.

    Returns:
        Broadcast shape: Static-pressure error coefficient.

    Raises:
        OutOfRangeError: If an airspeed or altitude is out of range.
    """
    felt = pressure_from_altitude(altitude_m)
    free = pressure_from_altitude(true_altitude_m)
    return (felt - free) / impact_pressure_from_airspeed(airspeed_mps)
