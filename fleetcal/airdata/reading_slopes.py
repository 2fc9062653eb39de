"""How the true airspeed answers to each reading."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.reading import Readings


def reading_slopes(readings: Readings, kappa: npt.ArrayLike) -> dict[str, Array]:
    """Return the derivative of each true airspeed by each reading.

    Args:
        readings: Shape (n,).

    Returns:
        Shape (n,): By airspeed, altitude, temperature, recovery and humidity, in SI. Temperature
        moves at one relative humidity.
    """

    def speed(changed: Readings) -> Array:
        return changed.true_airspeed(kappa)[0]

    def slope(change: Callable[[float], Readings], step: float) -> Array:
        return (speed(change(step)) - speed(change(-step))) / (2.0 * step)

    r = readings
    return {
        "airspeed": slope(lambda d: replace(r, airspeed_mps=r.airspeed_mps + d), 1e-3),
        "altitude": slope(lambda d: replace(r, altitude_m=r.altitude_m + d), 1e-1),
        "temperature": slope(lambda d: replace(r, temperature_k=r.temperature_k + d), 1e-3),
        "recovery": slope(lambda d: replace(r, recovery_factor=r.recovery_factor + d), 1e-3),
        "humidity": slope(lambda d: replace(r, relative_humidity=r.relative_humidity + d), 1e-3),
    }
