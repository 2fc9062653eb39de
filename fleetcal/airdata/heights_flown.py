"""A flight's two heights, and what each error of the flight would do to the geometric one.

Air in hydrostatic balance is as thick as it is warm: between two heights of one column

    g dz / g0 = Tv / Tstd(Hp) dHp

with geopotential height on the left, pressure altitude Hp, the virtual temperature Tv and
the standard one (from dp = -rho g dz and the gas law; see `atmosphere`). An aeroplane does
not climb in one column, so what the isobars do on its way comes in as well. Every effect
below is a column: by how many metres the geometric height would run away from what the
temperatures let expect, for one standard deviation of its cause.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import (
    GAS_CONSTANT_JPKGK,
    GRAVITY_MPS2,
    Array,
    pressure_from_altitude,
    standard_temperature,
)
from fleetcal.airdata.geopotential import geopotential_height
from fleetcal.airdata.humidity import virtual_temperature
from fleetcal.airdata.pitot_static import impact_pressure_from_airspeed, mach_from_pressure_ratio
from fleetcal.airdata.temperature import ambient_temperature
from fleetcal.airdata.wind_strengths import U_SHEAR_PER_S

# Standard deviations: common practice, no published source.
#: Rise of the isobars with time, m/s: 0.5 hPa in an hour.
U_TENDENCY_MPS: Final = 4.0 / 3600.0
#: Each component of the wind that a slope of the isobars balances, m/s, and the Coriolis
#: parameter of middle latitudes, per second.
U_GEOSTROPHIC_MPS: Final = 12.0
_CORIOLIS_PER_S: Final = 1.0e-4
#: Static-pressure error over impact pressure. What grows with lift makes one and the same
#: error of height at all speeds, so that only the constant part counts here.
U_KAPPA: Final = 0.05
#: By how much a thermometer follows late, s: it always does, so its mean is taken off.
LAG_S: Final = 15.0
U_LAG_S: Final = 15.0
#: By how much satellite height and altimeter are not of the same moment, s.
U_LATENCY_S: Final = 1.0
#: Height in which a humidity that nobody noted may change by its own uncertainty, m.
_MOIST_LAYER_M: Final = 1500.0
#: Share by which gravity is another one than taken, without and with a latitude.
_U_GRAVITY_ANYWHERE: Final = 1.0e-3
_U_GRAVITY: Final = 5.0e-5
_MIDDLE_LATITUDE_RAD: Final = float(np.radians(45.0))
_A_KELVIN: Final = 1.0


@dataclass(frozen=True, kw_only=True)
class HeightsFlown:
    """Samples, or means of them over blocks of time, of both heights and what goes with them.

    Attributes:
        time_s, altitude_m, geometric_m, temperature_k, airspeed_mps, east_mps, north_mps,
            relative_humidity (n,): Time, pressure altitude as indicated, satellite height, reading
            of the thermometer, Vic, ground velocity and humidity; NaN where missing.
        recovery_factor: Of the probe; 0 where the reading is ambient already.
        latitude_rad: Anywhere within the flight; None if not known.
    """

    time_s: Array
    altitude_m: Array
    geometric_m: Array
    temperature_k: Array
    airspeed_mps: Array
    east_mps: Array
    north_mps: Array
    relative_humidity: Array
    recovery_factor: float
    latitude_rad: float | None = None

    def ambient_k(self, recovery_factor: float | None = None) -> Array:
        """Return the ambient temperature that the readings stand for, without any position error.

        Args:
            recovery_factor: Another one than the flight's.

        Returns:
            Shape (n,).
        """
        factor = self.recovery_factor if recovery_factor is None else recovery_factor
        mach = mach_from_pressure_ratio(self._impact_pa() / self._static_pa())
        return ambient_temperature(self.temperature_k, mach, factor)

    def virtual_k(self, ambient_k: Array, more_humidity: float = 0.0) -> Array:
        """Return the virtual temperature, with the flight's humidity and so much more.

        Args:
            ambient_k: Shape (n,).

        Returns:
            Shape (n,).
        """
        share = self.relative_humidity + more_humidity
        return virtual_temperature(ambient_k, self._static_pa(), share)

    def geopotential_m(self) -> Array:
        """Return the satellite height in geopotential metres, shape (n,)."""
        latitude = _MIDDLE_LATITUDE_RAD if self.latitude_rad is None else self.latitude_rad
        return geopotential_height(self.geometric_m, latitude)

    def _static_pa(self) -> Array:
        return pressure_from_altitude(self.altitude_m)

    def _impact_pa(self) -> Array:
        return impact_pressure_from_airspeed(self.airspeed_mps)

    def dynamic_height_m(self) -> Array:
        """Return the height of air whose weight is the impact pressure, shape (n,)."""
        virtual = self.virtual_k(self.ambient_k())
        weight = GRAVITY_MPS2 * self._static_pa() / (GAS_CONSTANT_JPKGK * virtual)
        return self._impact_pa() / weight


@dataclass(frozen=True, kw_only=True)
class HeightDoubts:
    """Standard uncertainties that belong to one flight's instruments and air.

    Attributes:
        u_altitude_m (n,): Of the altimeter, where it was read.
        u_humidity: Of the relative humidity, 1 at saturation.
        humidity_noted: Whether somebody or a column says the humidity; else it may change with
            height too.
        altitude_step_m, geometric_step_m: Smallest step of the heights; 0 if not rounded.
    """

    u_altitude_m: Array
    u_recovery_factor: float
    u_humidity: float
    humidity_noted: bool
    altitude_step_m: float = 0.0
    geometric_step_m: float = 0.0


@dataclass(frozen=True)
class HeightColumns:
    """The heights as a linear model.

    Attributes:
        excess_m (n,): Satellite height beyond what the logged temperatures let expect.
        per_kelvin_m (n, n): What a thermometer that reads a kelvin too warm adds to `excess_m` at
            each place, by the place where it is too warm; its row sums are for one always so.
        effects_m (n, effects): What else does, one standard deviation of each.
    """

    excess_m: Array
    per_kelvin_m: Array
    effects_m: Array


def height_columns(flown: HeightsFlown, doubts: HeightDoubts) -> HeightColumns:
    """Return what the heights of a flight show, and what each error would do to it.

    Args:
        flown: Complete, in order of time.
    """
    height = flown.altitude_m
    ambient = flown.ambient_k()
    virtual = flown.virtual_k(ambient)
    standard = standard_temperature(height)

    def thickness(temperature_k: Array) -> Array:
        return _summed(temperature_k / standard, height)

    lag = _lag(flown.time_s, height, ambient, standard)
    expected = thickness(virtual) + LAG_S * lag
    warmer = flown.virtual_k(ambient + _A_KELVIN) - virtual
    moister = flown.virtual_k(ambient, 0.01) - virtual
    moister *= doubts.u_humidity / 0.01
    fuller = flown.ambient_k(flown.recovery_factor + 0.01) - ambient
    fuller *= doubts.u_recovery_factor / 0.01
    geopotential = flown.geopotential_m()
    known = flown.latitude_rad is not None
    effects = [
        *_isobars(flown),
        U_KAPPA * flown.dynamic_height_m(),
        U_LAG_S * lag,
        U_LATENCY_S * np.gradient(height, flown.time_s),
        thickness(fuller),
        thickness(moister),
        geopotential * (_U_GRAVITY if known else _U_GRAVITY_ANYWHERE),
    ]
    if not doubts.humidity_noted:
        effects.append(thickness(moister * (height - height.mean()) / _MOIST_LAYER_M))
    return HeightColumns(
        excess_m=geopotential - expected,
        per_kelvin_m=-_summing(height) * (warmer / standard),
        effects_m=np.stack(effects, axis=1),
    )


def _isobars(flown: HeightsFlown) -> list[Array]:
    """Return what isobars that rise and lean do; they lean otherwise at other heights."""
    slope = _CORIOLIS_PER_S * U_GEOSTROPHIC_MPS / GRAVITY_MPS2
    shear = _CORIOLIS_PER_S * U_SHEAR_PER_S / GRAVITY_MPS2
    above = flown.altitude_m - flown.altitude_m.mean()
    found = [U_TENDENCY_MPS * (flown.time_s - flown.time_s.mean())]
    for velocity in (flown.east_mps, flown.north_mps):
        found.append(slope * _summed(velocity, flown.time_s))
        found.append(shear * _summed(above * velocity, flown.time_s))
    return found


def _lag(time_s: Array, height_m: Array, ambient_k: Array, standard_k: Array) -> Array:
    """Return what a thermometer a second late hides: it shows what was, warmer in a climb."""
    change = np.diff(ambient_k) / np.diff(time_s)
    middle = 0.5 * (standard_k[1:] + standard_k[:-1])
    return np.concatenate([[0.0], np.cumsum(change * np.diff(height_m) / middle)])


def _summed(values: Array, along: Array) -> Array:
    """Return the integral of values along something, from its first place; trapezoids."""
    steps = 0.5 * (values[1:] + values[:-1]) * np.diff(along)
    return np.concatenate([[0.0], np.cumsum(steps)])


def _summing(along: Array) -> Array:
    """Return the matrix that `_summed` is, shape (n, n)."""
    count = along.size
    steps = np.zeros((count, count))
    place = np.arange(1, count)
    steps[place, place] = steps[place, place - 1] = 0.5 * np.diff(along)
    return np.asarray(np.cumsum(steps, axis=0))
