"""Airspeeds at which a curve is told, and who has flown them.

A curve is one of lift, so a line has values where points of three airframes, brought to its
weight, reach the speed (`reached_by`). That can be faster or slower than anybody's
indicator showed; `flown_by` counts those that really read it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.position_error import airspeed_correction, altitude_correction
from fleetcal.fleet.basis import lift_from_airspeed
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.store import TypeDescription
from fleetcal.units import MPS_PER_KT, from_si, to_si

#: A speed counts as reached or flown within this of an airframe's slowest and fastest, kt.
REACH_KT: Final = 2.5
_SMALL_KAPPA: Final = 1e-4
_LEAST_KAPPA: Final = -0.99


def lift_at(kind: TypeDescription, ias_kt: Array, weight_kg: float) -> Array:
    """Return s = (Vs/Viw)^2 of airspeeds at a weight.

    Args:
        ias_kt: Any shape.

    Returns:
        Same shape.
    """
    return lift_from_airspeed(ias_kt, kind.scaling_speed_kt, weight_kg, kind.reference_weight_kg)


def reached_by(rows: Sequence[PooledPoint], ias_kt: float, weight_kg: float) -> int:
    """Return how many airframes' points reach an airspeed, brought to a weight.

    The one rule for what is told: a curve is one of lift coefficient, so points reach the
    airspeeds that have their lift coefficients at the weight told.
    """
    return reach_of(rows, weight_kg).by(ias_kt)


def reach_of(rows: Sequence[PooledPoint], weight_kg: float) -> Covered:
    """Return which airspeeds the points reach, brought to a weight: `reached_by` for many."""
    return _covered((row.airframe, row.speed_at(weight_kg)) for row in rows)


def flown_of(rows: Sequence[PooledPoint]) -> Covered:
    """Return which airspeeds were read, at whatever weight was flown: `flown_by` for many."""
    return _covered((row.airframe, row.speed_kt) for row in rows)


def flown_by(rows: Sequence[PooledPoint], ias_kt: float) -> int:
    """Return how many airframes read an airspeed, at whatever weight they flew."""
    return flown_of(rows).by(ias_kt)


@dataclass(frozen=True)
class Covered:
    """Where what each airframe covers begins and ends, kt, each rising."""

    begins: tuple[float, ...]
    ends: tuple[float, ...]

    def by(self, ias_kt: float) -> int:
        """Return how many airframes cover an airspeed: those begun, less those that ended."""
        return bisect_right(self.begins, ias_kt) - bisect_left(self.ends, ias_kt)


def _covered(speeds: Iterable[tuple[str, float]]) -> Covered:
    ranges: dict[str, tuple[float, float]] = {}
    for airframe, speed in speeds:
        low, high = ranges.get(airframe, (speed, speed))
        ranges[airframe] = (min(low, speed), max(high, speed))
    return Covered(
        begins=tuple(sorted(low - REACH_KT for low, _ in ranges.values())),
        ends=tuple(sorted(high + REACH_KT for _, high in ranges.values())),
    )


def too_few_reach(airframes: int, read: int, weight_kg: float, fewest: int) -> str:
    """Return why a speed is not told, in words.

    Args:
        airframes: Whose points reach it at the weight told.
        read: Who read it, at whatever weight they flew.
        fewest: That are needed.
    """
    whose = {0: "no airframe", 1: "1 airframe only"}.get(airframes, f"{airframes} airframes only")
    sentence = f"reached at {weight_kg:.0f} kg by points of {whose}; {fewest} needed"
    if fewest == 1:
        sentence = f"not flown at {weight_kg:.0f} kg"
    return f"{sentence} ({read} read it at other weights)" if read > airframes else sentence


def speeds_flown(
    rows: Sequence[PooledPoint], weight_kg: float, step_kt: float
) -> tuple[float, ...]:
    """Return round airspeeds over the range that points were flown at.

    Returns:
        Multiples of the step, rising; at least one.
    """
    speeds = [row.speed_at(weight_kg) for row in rows]
    first = np.floor(min(speeds) / step_kt)
    last = np.ceil(max(speeds) / step_kt)
    return tuple(float(k * step_kt) for k in np.arange(first, last + 1) if k > 0)


def round_speeds(slowest_kt: float, fastest_kt: float) -> Array:
    """Return the multiples of 10 kt between two airspeeds, or the middle where there is none.

    Returns:
        Rising; at least one.
    """
    speeds = np.arange(np.ceil(slowest_kt / 10.0), np.floor(fastest_kt / 10.0) + 1) * 10.0
    return speeds if len(speeds) else np.array([round((slowest_kt + fastest_kt) / 2.0)])


def speed_correction_kt(ias_kt: Array, kappa: Array) -> Array:
    """Return dVpc = Vc - Vic in knots.

    Args:
        ias_kt, kappa: Broadcastable with one another.

    Returns:
        Broadcast shape.
    """
    speed = np.asarray(ias_kt, dtype=np.float64) * MPS_PER_KT
    return np.asarray(from_si(airspeed_correction(speed, kappa), "kt"))


def bounded_correction_kt(ias_kt: Array, kappa: Array) -> Array:
    """Return dVpc in knots; a kappa that no flow can have counts as the least that it can."""
    return speed_correction_kt(ias_kt, np.maximum(kappa, _LEAST_KAPPA))


def knots_for_each_kappa(ias_kt: Array, kappa: Array | float = 0.0) -> Array:
    """Return the knots of correction for each unit of kappa, about a curve.

    Args:
        ias_kt, kappa: Broadcastable with one another.

    Returns:
        Broadcast shape.
    """
    here = np.broadcast_to(np.asarray(kappa, dtype=np.float64), np.shape(ias_kt))
    more = speed_correction_kt(ias_kt, here + _SMALL_KAPPA) - speed_correction_kt(ias_kt, here)
    return np.asarray(np.abs(more) / _SMALL_KAPPA)


def height_correction_ft(ias_kt: Array, altitude_ft: float, kappa: Array) -> Array:
    """Return dHpc = H - Hic in feet at a pressure altitude.

    Args:
        ias_kt, kappa: Broadcastable with one another.

    Returns:
        Broadcast shape.
    """
    speed = np.asarray(ias_kt, dtype=np.float64) * MPS_PER_KT
    height = np.asarray(to_si(altitude_ft, "ft"))
    return np.asarray(from_si(altitude_correction(speed, height, kappa), "ft"))
