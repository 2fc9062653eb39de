"""The samples of a whole recording, and the legs cut out of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import ImplausibleError
from fleetcal.flightlog import Recording
from fleetcal.services.flights.air_taken import AirTaken
from fleetcal.services.flights.airspeed_source import AirReadings
from fleetcal.services.flights.flown_leg import FlownLeg


@dataclass(frozen=True, kw_only=True)
class SatelliteHeight:
    """Height by satellite, not by pressure.

    Attributes:
        geometric_m (n,): Above the ellipsoid or mean sea level, NaN where missing.
        step_m: Smallest step in which it is logged; 0 if not rounded.
        latitude_rad: In the middle of the flight; None where no position is logged.
    """

    geometric_m: Array
    step_m: float
    latitude_rad: float | None


@dataclass(frozen=True, kw_only=True)
class Recorded:
    """Every sample of a log, SI, as the instruments showed it; arrays of shape (n,).

    Attributes:
        t_s: From the first sample.
        airspeed_mps, altitude_m, temperature_k: NaN where missing.
        relative_humidity: Of the air, 1 at saturation; nowhere missing.
        taken: What temperature and humidity are taken to be.
        fuel_flow_kgps: When the log has it.
        satellite: Likewise.
        heading_rad: Where it is to be used.
    """

    source_name: str
    t_s: Array
    airspeed_mps: Array
    altitude_m: Array
    temperature_k: Array
    ground_speed_mps: Array
    track_rad: Array
    relative_humidity: Array
    taken: AirTaken
    fuel_flow_kgps: Array | None = None
    satellite: SatelliteHeight | None = None
    heading_rad: Array | None = None

    @property
    def recovery_factor(self) -> float:
        """Recovery factor that the temperature is taken to have."""
        return self.taken.temperature.recovery_factor


def recorded_samples(recording: Recording, air: AirReadings) -> Recorded:
    """Return the samples of a recording with the airspeed that is believed."""
    channels = recording.channels
    return Recorded(
        source_name=recording.source_name,
        t_s=recording.t_s,
        airspeed_mps=air.airspeed_mps,
        altitude_m=air.altitude_m,
        temperature_k=air.temperature_k,
        ground_speed_mps=channels["ground_speed"],
        track_rad=channels["track"],
        relative_humidity=air.relative_humidity,
        taken=air.taken,
        fuel_flow_kgps=channels.get("fuel_flow"),
        satellite=_satellite_height(recording),
        heading_rad=channels.get("heading"),
    )


def _satellite_height(recording: Recording) -> SatelliteHeight | None:
    geometric = recording.channels.get("gps_altitude")
    if geometric is None or not np.isfinite(geometric).any():
        return None
    latitude = recording.channels.get("latitude")
    known = latitude is not None and np.isfinite(latitude).any()
    return SatelliteHeight(
        geometric_m=geometric,
        step_m=recording.resolution.get("gps_altitude", 0.0),
        latitude_rad=float(np.nanmedian(latitude)) if latitude is not None and known else None,
    )


def cut_leg(recorded: Recorded, start: int, stop: int) -> FlownLeg:
    """Return the complete samples of a stretch.

    Args:
        start, stop: First sample, and the one after the last.

    Raises:
        ImplausibleError: If no sample of the stretch has all readings.
    """
    span = slice(start, stop)
    speed, track = recorded.ground_speed_mps[span], recorded.track_rad[span]
    readings = (
        recorded.airspeed_mps[span],
        recorded.altitude_m[span],
        recorded.temperature_k[span],
    )
    heading = None if recorded.heading_rad is None else recorded.heading_rad[span]
    needed = [*readings, speed, track, *(() if heading is None else (heading,))]
    complete = np.all(np.isfinite(np.stack(needed)), axis=0)
    if not np.any(complete):
        raise ImplausibleError(
            f"{recorded.source_name}: a steady leg at {recorded.t_s[start]:.0f} s has no "
            "sample with airspeed, altitude, temperature, ground speed and track together",
            "a column is empty there; the log cannot be reduced without it",
        )
    airspeed, altitude, temperature = (values[complete] for values in readings)
    return FlownLeg(
        start_s=float(recorded.t_s[start]),
        stop_s=float(recorded.t_s[stop - 1]),
        time_s=recorded.t_s[span][complete],
        airspeed_mps=airspeed,
        altitude_m=altitude,
        temperature_k=temperature,
        east_mps=(speed * np.sin(track))[complete],
        north_mps=(speed * np.cos(track))[complete],
        recovery_factor=recorded.recovery_factor,
        relative_humidity=recorded.relative_humidity[span][complete],
        heading_rad=None if heading is None else heading[complete],
    )
