"""Level flight at any power, altitude and weight on one curve.

With Ws the reference weight, sigma the density ratio and Ve = V sqrt(sigma),

    PIW = P sqrt(sigma) / (W/Ws)^1.5      VIW = Ve / sqrt(W/Ws)

collapse all altitudes and weights on one curve: at one lift coefficient the
drag is in proportion to weight, so power in proportion to W V, and V goes with
sqrt(W/sigma). For a parabolic polar and a propeller of constant efficiency

    PIW = a VIW^3 + b / VIW.

Divided by (VIW/Vs)^3, with Vs a fixed scaling speed, this is a straight line in
(Vs/VIW)^4; x = 4 (Vs/VIW)^4 is 0.25 at twice the scaling speed, as s = (Vs/V)^2
is. In y = PIW (Vs/VIW)^3 the weight has cancelled.

Source: the PIW-VIW method of flight test textbooks (from memory: U.S. Naval
Test Pilot School, Fixed wing performance, FTM 108; U.S. Air Force Test Pilot
School, Performance phase), which follows from the definition of the drag
coefficient. Density ratio: ICAO Doc 7488.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import (
    SEA_LEVEL_DENSITY_KGM3,
    Array,
    density,
    pressure_from_altitude,
    standard_temperature,
)


def density_ratio(altitude_m: npt.ArrayLike, temperature_k: npt.ArrayLike | None = None) -> Array:
    """Return sigma, the density over that of standard air at sea level.

    Args:
        altitude_m: Pressure altitude.
        temperature_k (array_like, broadcastable): Ambient; standard at the altitude when left out.

    Returns:
        Broadcast shape.
    """
    warm = standard_temperature(altitude_m) if temperature_k is None else temperature_k
    return density(pressure_from_altitude(altitude_m), warm) / SEA_LEVEL_DENSITY_KGM3


@dataclass(frozen=True)
class LevelFlight:
    """Steady level flights, all fields of one shape or broadcastable.

    Attributes:
        power: Share of rated power, or in any one unit.
        tas: In the unit of the scaling speed.
        weight_ratio: W/Ws.
    """

    power: Array
    tas: Array
    sigma: Array
    weight_ratio: Array

    @property
    def viw(self) -> Array:
        """Equivalent airspeed brought to reference weight."""
        return np.asarray(self.tas * np.sqrt(self.sigma / self.weight_ratio))

    @property
    def piw(self) -> Array:
        """Power brought to sea level and reference weight at the same lift coefficient."""
        return np.asarray(self.power * np.sqrt(self.sigma) * self.weight_ratio**-1.5)

    def coefficient(self, scaling_speed: float) -> Array:
        """Return y = PIW (Vs/VIW)^3."""
        return np.asarray(self.piw * (scaling_speed / self.viw) ** 3)

    def abscissa(self, scaling_speed: float) -> Array:
        """Return x = 4 (Vs/VIW)^4."""
        return abscissa_of(self.viw, scaling_speed)


def abscissa_of(viw: npt.ArrayLike, scaling_speed: float) -> Array:
    """Return x = 4 (Vs/VIW)^4.

    Returns:
        Same shape.
    """
    return np.asarray(4.0 * (scaling_speed / np.asarray(viw, dtype=np.float64)) ** 4)


def viw_of(abscissa: npt.ArrayLike, scaling_speed: float) -> Array:
    """Return VIW of an abscissa, the inverse of `abscissa_of`."""
    return np.asarray(scaling_speed * (4.0 / np.asarray(abscissa, dtype=np.float64)) ** 0.25)


def chart_power_of_the_day(
    power: npt.ArrayLike, altitude_m: npt.ArrayLike, temperature_k: npt.ArrayLike
) -> Array:
    """Return what a chart's power at standard temperature is in the air of the day.

    Args:
        power: Of a normally aspirated engine at the manifold pressure and speed flown.
        altitude_m, temperature_k: Broadcastable with one another.

    Returns:
        Broadcast shape: Times sqrt(Tstd/T): the air that a cylinder draws at one manifold
        pressure goes with the root of its temperature (common practice of engine charts, about 1 %
        for 6 degC; from memory, no published source seen).
    """
    cold = np.sqrt(standard_temperature(altitude_m) / np.asarray(temperature_k))
    return np.asarray(np.asarray(power) * cold)


def doubt_of_coefficient(coefficient: Array, rise: Array) -> dict[str, Array]:
    """Return how far a flight misses the curve for a relative error of each input.

    An error of V or sigma moves the point along both axes; what counts is the
    distance from the curve, y - f(x): effective variance, J. Orear, American
    Journal of Physics 50 (1982).

    Args:
        coefficient: y on the curve.
        rise: x f'(x).

    Returns:
        For ``power``, ``sigma``, ``tas`` and ``weight``.
    """
    return {
        "power": coefficient,
        "sigma": 2.0 * rise - coefficient,
        "tas": 4.0 * rise - 3.0 * coefficient,
        "weight": -2.0 * rise,
    }
