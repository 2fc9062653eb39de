"""A picture of an invented flight."""

from __future__ import annotations

from typing import Any

import numpy as np

from fleetcal.publish.flight_picture import FlightHistory, FlightPicture, PicturedLeg, PicturedRun

WIND = (-6.0, 8.0)
TAS_KT = 100.0


def pictured_leg(run: int, leg: int, start_s: float | None, **changes: Any) -> PicturedLeg:
    bearing = np.radians(20.0 + 90.0 * leg)
    values: dict[str, Any] = {
        "run": run,
        "leg": leg,
        "start_s": start_s,
        "stop_s": None if start_s is None else start_s + 60.0,
        "east_kt": WIND[0] + TAS_KT * np.sin(bearing),
        "north_kt": WIND[1] + TAS_KT * np.cos(bearing),
        "residual_kt": 0.31 * (-1.0) ** leg,
        **changes,
    }
    return PicturedLeg(**values)


def pictured_run(number: int, first_s: float | None, **changes: Any) -> PicturedRun:
    legs = tuple(
        pictured_leg(number, leg, None if first_s is None else first_s + 100.0 * leg)
        for leg in range(1, 5)
    )
    values: dict[str, Any] = {
        "number": number,
        "vic_kt": 91.0 + number,
        "tas_kt": TAS_KT,
        "wind_speed_kt": 10.0,
        "wind_from_deg": 143.1,
        "kappa": -0.0123,
        "u_kappa": 0.0061,
        "dvpc_kt": -0.56,
        "U95_dvpc_kt": 0.62,
        "residual_kt": 0.62,
        "reason": "",
        "legs": legs,
        "samples_kt": np.empty((2, 0)),
        **changes,
    }
    return PicturedRun(**values)


def invented_history() -> FlightHistory:
    t = np.arange(0.0, 1200.0)
    return FlightHistory(
        time_s=t,
        airspeed_kt=90.0 + np.sin(t / 40.0),
        altitude_ft=np.minimum(10.0 * t, 3000.0),
        track_deg=t % 360.0,
        ground_speed_kt=95.0 + np.cos(t / 50.0),
    )


def invented_picture(**changes: Any) -> FlightPicture:
    values: dict[str, Any] = {
        "title": "C-07, 2024-05-02, invented.csv",
        "facts": "flaps up; 580 kg; tracks and winds from true north",
        "airspeed_name": "indicated airspeed",
        "history": invented_history(),
        "runs": (pictured_run(1, 100.0), pictured_run(2, 600.0)),
        **changes,
    }
    return FlightPicture(**values)
