"""Readings of every technique, made by relations written out again from their equations.

Nothing of the package makes them: neither its atmosphere nor its pitot relations.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from fleetcal.airdata.budget import Assumptions
from fleetcal.airdata.techniques.pace_aircraft import (
    PaceAltimeter,
    PaceReadings,
    reduce_pace_aircraft,
)
from fleetcal.airdata.techniques.speed_course import (
    CoursePair,
    reduce_speed_course,
)
from fleetcal.airdata.techniques.technique_point import Cockpit, TechniquePoint
from fleetcal.airdata.techniques.tower_fly_by import (
    TowerPass,
    reduce_tower_fly_by,
)
from fleetcal.airdata.techniques.trailing_static import (
    TrailingAltimeter,
    TrailingGauge,
    reduce_trailing_static,
)

KT, FT = 1852.0 / 3600.0, 0.3048
P0, T0, LAPSE, G, R = 101325.0, 288.15, 0.0065, 9.80665, 287.05287
A0 = np.sqrt(1.4 * R * T0)


def pressure(altitude_m: float) -> float:
    return float(P0 * (1.0 - LAPSE * altitude_m / T0) ** (G / (R * LAPSE)))


def altitude(pressure_pa: float) -> float:
    return float(T0 / LAPSE * (1.0 - (pressure_pa / P0) ** (R * LAPSE / G)))


def impact(speed_mps: float) -> float:
    return float(P0 * ((1.0 + 0.2 * (speed_mps / A0) ** 2) ** 3.5 - 1.0))


def airspeed(impact_pa: float) -> float:
    return float(A0 * np.sqrt(5.0 * ((impact_pa / P0 + 1.0) ** (1.0 / 3.5) - 1.0)))


@dataclass(frozen=True, kw_only=True)
class Air:
    """What is true, and what the instruments of an aircraft with a known kappa show."""

    kappa: float = 0.05
    cas_mps: float = 100.0 * KT
    altitude_m: float = 3000.0 * FT
    temperature_k: float = 289.0
    recovery_factor: float = 0.8

    @property
    def free_pa(self) -> float:
        return pressure(self.altitude_m)

    @property
    def felt_pa(self) -> float:
        """ps_ind from kappa = (ps_ind - ps)/(pt - ps_ind)."""
        total = self.free_pa + impact(self.cas_mps)
        return (self.free_pa + self.kappa * total) / (1.0 + self.kappa)

    @property
    def mach(self) -> float:
        ratio = impact(self.cas_mps) / self.free_pa + 1.0
        return float(np.sqrt(5.0 * (ratio ** (1.0 / 3.5) - 1.0)))

    @property
    def true_airspeed_mps(self) -> float:
        return float(self.mach * np.sqrt(1.4 * R * self.temperature_k))

    def cockpit(self, u_airspeed: float = 0.5 * KT, u_altitude: float = 10.0 * FT) -> Cockpit:
        total = self.free_pa + impact(self.cas_mps)
        probe = self.temperature_k * (1.0 + 0.2 * self.recovery_factor * self.mach**2)
        return Cockpit(
            airspeed_mps=airspeed(total - self.felt_pa),
            altitude_m=altitude(self.felt_pa),
            u_airspeed_reading_mps=u_airspeed,
            u_altitude_reading_m=u_altitude,
            temperature_k=probe,
            recovery_factor=self.recovery_factor,
        )


ASSUMED = Assumptions()


def course(air: Air, along: float = 0.0, distance_m: float = 3704.0) -> CoursePair:
    true = air.true_airspeed_mps
    return CoursePair(
        cockpit=air.cockpit(),
        distance_m=distance_m,
        time_out_s=distance_m / (true + along),
        time_back_s=distance_m / (true - along),
        u_distance_m=10,
        u_time_s=0.3,
    )


def pace(air: Air, correction: float = -0.7 * KT) -> PaceReadings:
    return PaceReadings(
        cockpit=air.cockpit(),
        airspeed_mps=air.cas_mps - correction,
        correction_mps=correction,
        u_calibration_mps=0.8 * KT,
        u_reading_mps=0.5 * KT,
        u_station_mps=0.3 * KT,
    )


def pace_altimeter(air: Air, correction: float = 35.0 * FT) -> PaceAltimeter:
    return PaceAltimeter(
        altitude_m=air.altitude_m - correction,
        correction_m=correction,
        u_calibration_m=20.0 * FT,
        u_reading_m=10.0 * FT,
        u_station_m=5.0 * FT,
    )


def tower(air: Air, height_m: float = 25.0) -> TowerPass:
    """The tower's pressure by the hydrostatic equation in small steps down from the aircraft."""
    free, steps = air.free_pa, 4000
    step = height_m / steps
    top = air.temperature_k
    for i in range(steps):
        free *= np.exp(G * step / (R * (top + LAPSE * step * (i + 0.5))))
    below = top + LAPSE * height_m
    return TowerPass(
        cockpit=air.cockpit(),
        reference_pressure_pa=free,
        reference_temperature_k=below,
        height_m=height_m,
        u_reference_pressure_pa=30.0,
        u_reference_temperature_k=1.0,
        u_survey_m=0.5,
        u_sighting_m=1.0,
    )


def gauge(air: Air, correction: float = -4.0) -> TrailingGauge:
    trailing = air.free_pa - correction
    return TrailingGauge(
        cockpit=air.cockpit(),
        difference_pa=air.felt_pa - trailing,
        correction_pa=correction,
        u_correction_pa=10.0,
        u_gauge_pa=5.0,
        u_reading_pa=3.0,
    )


def trailing_altimeter(air: Air, correction: float = 12.0 * FT) -> TrailingAltimeter:
    return TrailingAltimeter(
        cockpit=air.cockpit(),
        altitude_m=air.altitude_m - correction,
        correction_m=correction,
        u_correction_m=15.0 * FT,
        u_reading_m=10.0 * FT,
    )


TECHNIQUES: dict[str, Callable[[Air], TechniquePoint]] = {
    "speed course": lambda air: reduce_speed_course([course(air, 7.0)], ASSUMED),
    "several pairs": lambda air: reduce_speed_course(
        [course(air, 7.0), course(replace(air, cas_mps=air.cas_mps + 1.0), -3.0)], ASSUMED
    ),
    "pace aircraft": lambda air: reduce_pace_aircraft(pace(air), ASSUMED),
    "pace with altimeters": lambda air: reduce_pace_aircraft(
        replace(pace(air), altimeter=pace_altimeter(air)), ASSUMED
    ),
    "tower": lambda air: reduce_tower_fly_by(tower(air), ASSUMED),
    "below the tower": lambda air: reduce_tower_fly_by(tower(air, -40.0), ASSUMED),
    "gauge": lambda air: reduce_trailing_static(gauge(air), ASSUMED),
    "trailing altimeter": lambda air: reduce_trailing_static(trailing_altimeter(air), ASSUMED),
}
