"""Climbs and glides as one number over lift coefficient, so that they can be pooled.

With s = (Vs/V)^2 at reference weight, proportional to lift coefficient, the
number y = s R/V (R the rate, V the true airspeed, so R/V the sine of the path)
is proportional to the coefficient of thrust less that of drag. For a parabolic
polar drag is exactly a + c s^2, and thrust that falls in a line with the square
of airspeed is exactly b s + d; so a polynomial of second order in s carries
glides and climbs, weight is in s already, and density cancels. The same curves
serve as for the static-pressure error.

A climb of constant thrust power leaves up to 60 ft/min at the ends of a very wide range of
speeds (20 ft/min rms).
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array

#: Powers m for which f(s)/s^m is largest at the best rate and at the best angle.
BEST_RATE: Final = 1.5
BEST_ANGLE: Final = 1.0
#: Power of airspeed that thrust power goes with, by the pitch of the propeller; '' where it is
#: not known. Constant speed: at unchanging shaft power, by momentum theory, 3(x - 1)/(3x - 1)
#: with x = 2/efficiency - 1: 0.34 to 0.48 for ideal efficiencies of 0.85 to 0.76, which is where
#: light aircraft climb (Froude, Transactions of the Institution of Naval Architects 30, 1889;
#: from memory). Fixed in flight: 0.75 at the best angle and 0.62 at the best rate of climb, from
#: the thrust T = E + F V^2 of J. T. Lowry, Journal of Aviation/Aerospace Education & Research
#: 6(1), 1995 (his constants from memory).
THRUST_POWER_GROWTH: Final = {"constant speed": 0.4, "fixed": 0.68, "": 0.54}


def path_coefficient(rate_mps: npt.ArrayLike, tas_mps: npt.ArrayLike, lift: npt.ArrayLike) -> Array:
    """Return y = s R/V.

    Args:
        rate_mps: Unaccelerated tapeline rate at the weight flown, positive upwards.
        tas_mps: Broadcastable with one another.
        lift (array_like, broadcastable): s = (Vs/V)^2 W/Wref with V the CAS.

    Returns:
        Broadcast shape: Without unit.
    """
    return np.asarray(np.asarray(lift) * np.asarray(rate_mps) / np.asarray(tas_mps))


def rate_from_coefficient(
    coefficient: npt.ArrayLike, tas_mps: npt.ArrayLike, lift: npt.ArrayLike
) -> Array:
    """Return the rate that a coefficient stands for, the inverse of `path_coefficient`.

    Args:
        tas_mps, lift: Broadcastable with one another.

    Returns:
        Broadcast shape: m/s.
    """
    return np.asarray(np.asarray(coefficient) * np.asarray(tas_mps) / np.asarray(lift))


def at_reference_weight(
    coefficient: npt.ArrayLike,
    thrust_rate_mps: npt.ArrayLike,
    tas_mps: npt.ArrayLike,
    lift: npt.ArrayLike,
    weight_ratio: npt.ArrayLike,
    growth: npt.ArrayLike,
) -> Array:
    """Return y at reference weight and the same lift coefficient, the shaft power unchanged.

    Drag at one lift coefficient needs no correction; thrust power carries another
    weight at another airspeed, at which the propeller makes more or less of it, so
    its share of y goes with (W/Wref)^(1.5 - growth/2).

    Args:
        coefficient: y as flown.
        thrust_rate_mps (array_like, broadcastable): Thrust power over weight as flown; 0 without
            thrust, when y does not change.
        tas_mps, lift: Broadcastable with one another.
        weight_ratio (array_like, broadcastable): W/Wref.
        growth (array_like, broadcastable): Power of airspeed that thrust power goes with; 0 for one
            that does not change.

    Returns:
        Broadcast shape.
    """
    thrust = path_coefficient(thrust_rate_mps, tas_mps, lift)
    carried = np.asarray(weight_ratio) ** (1.5 - 0.5 * np.asarray(growth))
    return np.asarray(np.asarray(coefficient) + thrust * (carried - 1.0))
