"""Runs of GPS legs made from the defining equations, without the room under test."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.reading import Readings
from fleetcal.airdata.run_quality import RunFigures, airspeed_dilution
from fleetcal.units import MPS_PER_KT

P0, T0, LAPSE, G0, GAS = 101325.0, 288.15, 0.0065, 9.80665, 287.05287
SOUND0 = (1.4 * GAS * T0) ** 0.5


def true_airspeed_and_slope(readings, kappa):
    """Vt and dVt/dkappa (m/s) from the textbook equations in powers; below the tropopause."""
    static = P0 * (1.0 - LAPSE * readings.altitude_m / T0) ** (G0 / (GAS * LAPSE))
    impact = P0 * ((1.0 + 0.2 * (readings.airspeed_mps / SOUND0) ** 2) ** 3.5 - 1.0)

    def speed(k):
        mach_squared = 5.0 * (((static + impact) / (static - k * impact)) ** (2.0 / 7.0) - 1.0)
        ambient = readings.temperature_k / (1.0 + 0.2 * readings.recovery_factor * mach_squared)
        return np.sqrt(mach_squared * 1.4 * GAS * ambient)

    return speed(kappa), (speed(kappa + 1e-5) - speed(kappa - 1e-5)) / 2e-5


def components(size, direction_rad):
    """East and north of something that points towards a direction."""
    return size * np.sin(direction_rad), size * np.cos(direction_rad)


def ground_vectors(speed_kt, track_deg):
    """East and north, m/s, of ground speeds and tracks in the trade's units."""
    return components(np.asarray(speed_kt) * MPS_PER_KT, np.radians(np.asarray(track_deg, float)))


def alike(count, airspeed_mps=46.0, altitude_m=900.0, temperature_k=281.0, recovery_factor=0.8):
    """Readings that are the same on each leg."""
    full = np.full
    return Readings(
        airspeed_mps=full(count, airspeed_mps),
        altitude_m=full(count, altitude_m),
        temperature_k=full(count, temperature_k),
        recovery_factor=full(count, recovery_factor),
    )


@dataclass(frozen=True, kw_only=True)
class MadeRun:
    """A run without any noise, and the truth behind it."""

    east_mps: np.ndarray
    north_mps: np.ndarray
    readings: Readings
    heading_rad: np.ndarray
    true_airspeed_mps: np.ndarray
    wind_east_mps: float
    wind_north_mps: float
    kappa: float


def made_run(heading_rad, readings, kappa, wind_mps, wind_from_rad):
    """Fly one leg per heading: ground vector = air vector + wind."""
    heading = np.asarray(heading_rad, dtype=float)
    speed = true_airspeed_and_slope(readings, kappa)[0]
    wind_east, wind_north = components(-wind_mps, wind_from_rad)
    east, north = components(speed, heading)
    return MadeRun(
        east_mps=east + wind_east,
        north_mps=north + wind_north,
        readings=readings,
        heading_rad=heading,
        true_airspeed_mps=speed,
        wind_east_mps=float(wind_east),
        wind_north_mps=float(wind_north),
        kappa=kappa,
    )


def evenly(count, first_rad=0.3):
    """Headings spread evenly round the compass."""
    return first_rad + 2.0 * np.pi * np.arange(count) / count


def figures_of(found, gap_rad):
    """What decides whether a run of leg means counts, put together as a reduction does."""
    wind = np.hypot(*found.wind_mps.mean(axis=0))
    legs = len(found.pieces.time_s)
    return RunFigures(
        legs=legs,
        largest_gap_rad=gap_rad,
        dilution=airspeed_dilution(found.looked.direction, found.looked.slope_mps, legs),
        kappa=float(found.kappa[0]),
        wind_mps=float(wind),
        true_airspeed_mps=float(np.mean(found.looked.speed_mps)),
        converged=found.converged,
    )
