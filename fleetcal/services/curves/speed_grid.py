"""Airspeeds at which a curve is told, and who has flown them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.position_error import airspeed_correction, altitude_correction
from fleetcal.fleet.basis import lift_from_airspeed
from fleetcal.store import PointRow, TypeDescription
from fleetcal.units import MPS_PER_KT, from_si, to_si

if TYPE_CHECKING:
    from fleetcal.services.curves.groups import TypePoints

#: A speed counts as flown by an airframe within this of its slowest and fastest point, kt.
REACH_KT: Final = 2.5
_SMALL_KAPPA: Final = 1e-4


def lift_at(kind: TypeDescription, ias_kt: Array, weight_kg: float) -> Array:
    """Return s = (Vs/Viw)^2 of airspeeds at a weight.

    Parameters
    ----------
    kind : TypeDescription
    ias_kt : ndarray, any shape
    weight_kg : float

    Returns
    -------
    ndarray, same shape
    """
    return lift_from_airspeed(ias_kt, kind.scaling_speed_kt, weight_kg, kind.reference_weight_kg)


def ias_at_weight(row: PointRow, weight_kg: float) -> float:
    """Return the airspeed that has a point's lift coefficient at another weight, kt."""
    return row.vic_kt * float(np.sqrt(weight_kg / row.weight_kg))


def flown_by(rows: Sequence[PointRow], ias_kt: float, weight_kg: float) -> int:
    """Return how many airframes flew an airspeed.

    Parameters
    ----------
    rows : sequence of PointRow
    ias_kt : float
    weight_kg : float
        Speeds are compared at this weight.

    Returns
    -------
    int
    """
    ranges: dict[str, tuple[float, float]] = {}
    for row in rows:
        speed = ias_at_weight(row, weight_kg)
        low, high = ranges.get(row.airframe, (speed, speed))
        ranges[row.airframe] = (min(low, speed), max(high, speed))
    return sum(low - REACH_KT <= ias_kt <= high + REACH_KT for low, high in ranges.values())


def speeds_flown(
    known: TypePoints, group: int, weight_kg: float, step_kt: float
) -> tuple[float, ...]:
    """Return round airspeeds over the range that a group was flown at.

    Parameters
    ----------
    known : TypePoints
    group : int
    weight_kg : float
    step_kt : float

    Returns
    -------
    tuple of float
        Multiples of the step, rising; at least one.
    """
    speeds = [ias_at_weight(row, weight_kg) for row in known.rows_of(group)]
    first = np.floor(min(speeds) / step_kt)
    last = np.ceil(max(speeds) / step_kt)
    return tuple(float(k * step_kt) for k in np.arange(first, last + 1) if k > 0)


def round_speeds(slowest_kt: float, fastest_kt: float) -> Array:
    """Return the multiples of 10 kt between two airspeeds, or the middle where there is none.

    Parameters
    ----------
    slowest_kt, fastest_kt : float

    Returns
    -------
    ndarray
        Rising; at least one.
    """
    speeds = np.arange(np.ceil(slowest_kt / 10.0), np.floor(fastest_kt / 10.0) + 1) * 10.0
    return speeds if len(speeds) else np.array([round((slowest_kt + fastest_kt) / 2.0)])


def speed_correction_kt(ias_kt: Array, kappa: Array) -> Array:
    """Return dVpc = Vc - Vic in knots.

    Parameters
    ----------
    ias_kt, kappa : ndarray, broadcastable

    Returns
    -------
    ndarray, broadcast shape
    """
    speed = np.asarray(ias_kt, dtype=np.float64) * MPS_PER_KT
    return np.asarray(from_si(airspeed_correction(speed, kappa), "kt"))


def knots_for_each_kappa(ias_kt: Array, kappa: Array | float = 0.0) -> Array:
    """Return the knots of correction for each unit of kappa, about a curve.

    Parameters
    ----------
    ias_kt, kappa : ndarray, broadcastable

    Returns
    -------
    ndarray, broadcast shape
    """
    here = np.broadcast_to(np.asarray(kappa, dtype=np.float64), np.shape(ias_kt))
    more = speed_correction_kt(ias_kt, here + _SMALL_KAPPA) - speed_correction_kt(ias_kt, here)
    return np.asarray(np.abs(more) / _SMALL_KAPPA)


def height_correction_ft(ias_kt: Array, altitude_ft: float, kappa: Array) -> Array:
    """Return dHpc = H - Hic in feet at a pressure altitude.

    Parameters
    ----------
    ias_kt, kappa : ndarray, broadcastable
    altitude_ft : float

    Returns
    -------
    ndarray, broadcast shape
    """
    speed = np.asarray(ias_kt, dtype=np.float64) * MPS_PER_KT
    height = np.asarray(to_si(altitude_ft, "ft"))
    return np.asarray(from_si(altitude_correction(speed, height, kappa), "ft"))
