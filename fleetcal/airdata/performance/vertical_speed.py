"""Rates of climb and sink as read, brought to real height and standard air.

A rate is positive upwards throughout, so a sink is a negative rate and one set
of relations serves climbs and glides. The order is: tapeline, acceleration,
temperature; each relation says what it keeps fixed.

Sources: the hydrostatic equation (ICAO Doc 7488) for the tapeline; the balance
of energy, (thrust - drag) V = W (dh/dt + V/g dV/dt), for the others, as flight
test textbooks derive them (from memory: U.S. Naval Test Pilot School, Fixed
wing performance, FTM 108, chapter on climb performance).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import (
    GRAVITY_MPS2,
    Array,
    require_between,
    standard_temperature,
)


def tapeline_ratio(altitude_m: npt.ArrayLike, temperature_k: npt.ArrayLike) -> Array:
    """Return real height gained for each metre of pressure altitude.

    Args:
        altitude_m: Pressure altitude, -2,000 to 20,000 m.
        temperature_k (array_like, broadcastable): Ambient temperature there, 200 to 340 K; the
            virtual one in moist air.

    Returns:
        Broadcast shape: T/T_std: the pressure falls by rho g dz, and the density is that
        of the air that is there.

    Raises:
        OutOfRangeError: If an altitude or a temperature lies outside its range.
    """
    temperature = require_between(temperature_k, 200.0, 340.0, "temperature", "K")
    return np.asarray(temperature / standard_temperature(altitude_m))


def tapeline_rate(
    rate_mps: npt.ArrayLike, altitude_m: npt.ArrayLike, temperature_k: npt.ArrayLike
) -> Array:
    """Return the rate in real height from the rate of pressure altitude.

    Args:
        rate_mps: Change of pressure altitude in a second, positive upwards.
        altitude_m, temperature_k (array_like, broadcastable): As `tapeline_ratio`.

    Returns:
        Broadcast shape: Rate, m/s.

    Raises:
        OutOfRangeError: As `tapeline_ratio`.
    """
    return np.asarray(np.asarray(rate_mps) * tapeline_ratio(altitude_m, temperature_k))


def unaccelerated_rate(
    rate_mps: npt.ArrayLike, tas_mps: npt.ArrayLike, acceleration_mps2: npt.ArrayLike
) -> Array:
    """Return the rate that the same excess power would give at unchanging true airspeed.

    Args:
        rate_mps: Tapeline rate, m/s, positive upwards.
        tas_mps (array_like, broadcastable): True airspeed, m/s.
        acceleration_mps2 (array_like, broadcastable): Its change in a second: at constant CAS it
            grows with height, and nobody holds a speed exactly.

    Returns:
        Broadcast shape: Rate, m/s: dh/dt + V/g dV/dt, the specific excess power.
    """
    gained = np.asarray(tas_mps) * np.asarray(acceleration_mps2) / GRAVITY_MPS2
    return np.asarray(np.asarray(rate_mps) + gained)


def rate_in_standard_air(
    rate_mps: npt.ArrayLike,
    temperature_k: npt.ArrayLike,
    standard_temperature_k: npt.ArrayLike,
    thrust_rate_mps: npt.ArrayLike = 0.0,
    power_exponent: npt.ArrayLike = 0.0,
) -> Array:
    """Return the rate at the same CAS, pressure and weight in air of standard temperature.

    Drag depends on CAS (to the accuracy of CAS = EAS), so the power it takes goes
    with true airspeed, that is with the root of temperature. Thrust power is
    taken to go with (T/T_std)^n.

    Args:
        rate_mps: Unaccelerated tapeline rate, m/s, positive upwards.
        temperature_k, standard_temperature_k (array_like, broadcastable): Of the day (the virtual
            one in moist air) and of the standard at that pressure altitude, K.
        thrust_rate_mps (array_like, broadcastable): Thrust power over weight, m/s: the rate that
            drag takes away plus what is left; 0 for an engine that drives nothing.
        power_exponent (array_like, broadcastable): n: 0.5 for an engine whose cylinders draw
            outside air at given manifold pressure and speed (common practice, no published source),
            0 for one whose power is held by a governor.

    Returns:
        Broadcast shape: Rate, m/s.

    Raises:
        OutOfRangeError: If a temperature is out of 200 to 340 K.
    """
    warm = require_between(temperature_k, 200.0, 340.0, "temperature", "K")
    standard = require_between(standard_temperature_k, 200.0, 340.0, "temperature", "K")
    speed = np.sqrt(standard / warm)
    thrust = np.asarray(thrust_rate_mps)
    power = (warm / standard) ** np.asarray(power_exponent)
    return np.asarray(thrust * power - (thrust - np.asarray(rate_mps)) * speed)
