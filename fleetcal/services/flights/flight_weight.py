"""The weight of the aircraft along a flight."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import DataError
from fleetcal.services.flights.cut_legs import Recorded
from fleetcal.services.flights.read_flight import Flight
from fleetcal.services.flights.reduction import FlightDetails

_FLYING_S: Final = 20.0  # shorter is a fast taxi or a gust on the ground
_S_PER_H: Final = 3600.0


@dataclass(frozen=True, kw_only=True)
class FlightWeight:
    """Weight against time.

    Attributes:
        start_kg: Before any fuel is used; None when no weight is known.
        time_s, used_kg (n,): Fuel used since take-off; empty for a weight that is taken as
            constant.
        notes: Where it comes from, in words; empty for a constant weight.
        document: To be kept with the sortie; None for a constant weight.
    """

    start_kg: float | None
    time_s: Array
    used_kg: Array
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    document: dict[str, Any] | None = None

    def at(self, time_s: float | None) -> float:
        """Return the weight at a time from the first sample, kg; NaN when none is known."""
        if self.start_kg is None:
            return math.nan
        if len(self.time_s) == 0 or time_s is None:
            return self.start_kg
        return self.start_kg - float(np.interp(time_s, self.time_s, self.used_kg))


def flight_weight(flight: Flight, details: FlightDetails, flying_mps: float) -> FlightWeight:
    """Return the weight along a flight: constant, or from take-off with the fuel used.

    Args:
        flying_mps: Airspeed above which the aircraft is taken to be flying.

    Raises:
        DataError: If fuel is to be taken off and neither a rate nor a fuel flow is known, the
            flight has no time of take-off, or more fuel is used than the aircraft weighs.
    """
    none = np.empty(0)
    if details.takeoff_weight_kg is None:
        return FlightWeight(start_kg=details.weight_kg, time_s=none, used_kg=none)
    recorded = flight.recorded
    if recorded is None:
        raise DataError(
            f"{flight.source_name}: legs written by hand do not show when the take-off was",
            "give the weight of the runs with --weight-kg",
        )
    start, warnings = _takeoff(recorded, flying_mps)
    flow, source = _flow(recorded, details.fuel_used_kg_per_h)
    steps = np.diff(recorded.t_s) * (flow[:-1] + flow[1:]) / 2.0
    steps[:start] = 0.0
    used = np.concatenate([[0.0], np.cumsum(steps)])
    if used[-1] >= details.takeoff_weight_kg:
        raise DataError(
            f"{flight.source_name}: {used[-1]:.0f} kg of fuel would be used, and the aircraft "
            f"weighs {details.takeoff_weight_kg:.0f} kg at take-off",
            "check the rate, or the unit of the fuel flow",
        )
    taken_off = float(recorded.t_s[start])
    note = (
        f"Weight {details.takeoff_weight_kg:.0f} kg at take-off ({taken_off:.0f} s), less the "
        f"fuel used by {source}: {used[-1]:.1f} kg to the end of the log."
    )
    document = {
        "takeoff_weight_kg": details.takeoff_weight_kg,
        "takeoff_s": taken_off,
        "fuel_used_kg_per_h": details.fuel_used_kg_per_h,
        "fuel_used_kg": float(used[-1]),
    }
    return FlightWeight(
        start_kg=details.takeoff_weight_kg,
        time_s=recorded.t_s,
        used_kg=used,
        notes=(note,),
        warnings=warnings,
        document=document,
    )


def _flow(recorded: Recorded, rate_kg_per_h: float | None) -> tuple[Array, str]:
    """Return fuel flow of every sample, kg/s, and where it comes from."""
    if rate_kg_per_h is not None:
        return np.full(len(recorded.t_s), rate_kg_per_h / _S_PER_H), f"{rate_kg_per_h:g} kg/h"
    flow = recorded.fuel_flow_kgps
    if flow is None or not np.any(np.isfinite(flow)):
        raise DataError(
            f"{recorded.source_name}: a take-off weight was given, and the log has no fuel flow",
            "give the fuel used with --fuel-used-kg-per-h",
        )
    known = np.isfinite(flow)
    return np.interp(recorded.t_s, recorded.t_s[known], flow[known]), "the log's fuel flow"


def _takeoff(recorded: Recorded, flying_mps: float) -> tuple[int, tuple[str, ...]]:
    """Return the first sample of the first stretch of flying, and a warning where there is none."""
    known = np.isfinite(recorded.airspeed_mps)
    speed = np.interp(recorded.t_s, recorded.t_s[known], recorded.airspeed_mps[known])
    flying = np.concatenate([[False], speed > flying_mps, [False]])
    turns = np.flatnonzero(flying[1:] != flying[:-1])
    for start, stop in zip(turns[::2], turns[1::2], strict=True):
        if recorded.t_s[stop - 1] - recorded.t_s[start] >= _FLYING_S:
            if start > 0:
                return int(start), ()
            break
    return 0, ("the log does not show the take-off: its weight is taken at the first sample",)
