"""Runs of leg means solved as a flight of single readings in a wind that hardly moves."""

from __future__ import annotations

import numpy as np

from fleetcal.airdata.flight_pieces import Stretch, cut
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.solve_pieces import FlightWind, solve_pieces
from fleetcal.airdata.wind_strengths import STILL

NAMES = (
    "airspeed_mps",
    "altitude_m",
    "temperature_k",
    "recovery_factor",
    "relative_humidity",
)


def readings_at(readings: Readings, which) -> Readings:
    """Some of the readings, or all in another order."""
    shape = readings.airspeed_mps.shape
    return Readings(
        **{name: np.broadcast_to(getattr(readings, name), shape)[which] for name in NAMES}
    )


def leg_stretches(east_mps, north_mps, readings, group=0, time_s=None):
    """Each leg mean as a stretch of one sample, a second from the next if no times are given."""
    time = np.arange(float(len(east_mps))) if time_s is None else np.asarray(time_s, float)
    return [
        Stretch(
            group=group,
            time_s=time[i : i + 1],
            east_mps=np.asarray(east_mps)[i : i + 1],
            north_mps=np.asarray(north_mps)[i : i + 1],
            readings=readings_at(readings, slice(i, i + 1)),
        )
        for i in range(len(east_mps))
    ]


def solve_legs(east_mps, north_mps, readings) -> FlightWind:
    """One run of legs; three are met exactly."""
    return solve_pieces(cut(leg_stretches(east_mps, north_mps, readings)), STILL)


def wind_of(flight: FlightWind):
    """Mean wind, east and north, m/s."""
    return flight.wind_mps.mean(axis=0)
