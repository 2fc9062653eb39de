"""One leg in a few figures: means and standard deviations."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fleetcal.flightlog.cells import Floats
from fleetcal.flightlog.legs import LegSpan


@dataclass(frozen=True, kw_only=True)
class LegSummary:
    """Means and standard deviations of one leg, in SI.

    A hand-written leg has NaN for each standard deviation, and for its times
    if none are written.

    Attributes:
        t_start_s, t_stop_s: First and last sample, in seconds.
        airspeed_mps, altitude_m, temperature_k: Means of the readings.
        ground_east_mps, ground_north_mps: Mean of the ground vector.
        track_rad: Direction of the mean ground vector, at least 0 and below 2 pi.
        samples: Complete samples that the means rest on.
        ground_north_sd_mps, track_sd_rad: Standard deviations of single samples.
    """

    t_start_s: float
    t_stop_s: float
    airspeed_mps: float
    altitude_m: float
    temperature_k: float
    ground_east_mps: float
    ground_north_mps: float
    track_rad: float
    samples: int
    airspeed_sd_mps: float = math.nan
    altitude_sd_m: float = math.nan
    temperature_sd_k: float = math.nan
    ground_east_sd_mps: float = math.nan
    ground_north_sd_mps: float = math.nan
    track_sd_rad: float = math.nan


def summarise_leg(
    span: LegSpan,
    t_s: Floats,
    airspeed_mps: Floats,
    altitude_m: Floats,
    temperature_k: Floats,
    track_rad: Floats,
    ground_speed_mps: Floats,
) -> LegSummary:
    """Average one leg over its complete samples.

    The ground vector is averaged by components, so that tracks on both sides
    of north average to north.

    Args:
        t_s, airspeed_mps, altitude_m, temperature_k, track_rad, ground_speed_mps (n,): Of the whole
            recording, in SI, NaN where missing.

    Returns:
        The temperature is NaN if the leg has none.
    """
    part = slice(span.start, span.stop)
    columns = np.stack(
        [c[part] for c in (t_s, airspeed_mps, altitude_m, track_rad, ground_speed_mps)]
    )
    complete = np.isfinite(columns).all(axis=0)
    t, airspeed, altitude, track, speed = columns[:, complete]
    east, north = speed * np.sin(track), speed * np.cos(track)
    mean_track = math.atan2(float(np.mean(east)), float(np.mean(north)))
    swing = np.remainder(track - mean_track + math.pi, 2.0 * math.pi) - math.pi
    temperature = temperature_k[part][np.isfinite(temperature_k[part])]
    return LegSummary(
        t_start_s=float(t[0]),
        t_stop_s=float(t[-1]),
        airspeed_mps=float(np.mean(airspeed)),
        altitude_m=float(np.mean(altitude)),
        temperature_k=float(np.mean(temperature)) if temperature.size else math.nan,
        ground_east_mps=float(np.mean(east)),
        ground_north_mps=float(np.mean(north)),
        track_rad=mean_track % (2.0 * math.pi),
        samples=int(t.size),
        airspeed_sd_mps=_scatter(airspeed),
        altitude_sd_m=_scatter(altitude),
        temperature_sd_k=_scatter(temperature),
        ground_east_sd_mps=_scatter(east),
        ground_north_sd_mps=_scatter(north),
        track_sd_rad=_scatter(swing),
    )


def _scatter(values: Floats) -> float:
    """Sample standard deviation, NaN for fewer than two values."""
    return float(np.std(values, ddof=1)) if values.size > 1 else math.nan
