"""True airspeed that a set of readings stands for, once kappa is supposed.

One reading is (Vic, Hic, probe temperature) with the probe's recovery factor and
the humidity of the air. The port delivers ps_ind, the indicator feels qcic, and
the pitot delivers pt = ps_ind + qcic whatever the port does; a supposed kappa
gives the static pressure of the free stream, hence Mach number, temperature and
true airspeed. Source of the relations: Gracey, NASA RP-1046 (1980), chapters 2
and 3; moist air by its virtual temperature, see `humidity`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import (
    GAS_CONSTANT_JPKGK,
    HEAT_CAPACITY_RATIO,
    Array,
    pressure_from_altitude,
)
from fleetcal.airdata.humidity import saturation_growth, vapour_share
from fleetcal.airdata.pitot_static import impact_pressure_from_airspeed


@dataclass(frozen=True, kw_only=True)
class Readings:
    """Instrument readings, all of one shape (or broadcastable).

    Attributes:
        airspeed_mps: Vic, m/s.
        altitude_m: Hic (1013.25 hPa set), m.
        temperature_k: Probe temperature, K.
        recovery_factor: Recovery factor of the probe; 0 where the reading is already ambient.
        relative_humidity: Of the ambient air over water, 1 at saturation; dry air if left out.
    """

    airspeed_mps: Array
    altitude_m: Array
    temperature_k: Array
    recovery_factor: Array
    relative_humidity: Array = field(default_factory=lambda: np.zeros(()))

    def pressures(self) -> tuple[Array, Array]:
        """Return what the port delivers and what the indicator feels, Pa."""
        return (
            pressure_from_altitude(self.altitude_m),
            impact_pressure_from_airspeed(self.airspeed_mps),
        )

    def true_airspeed(self, kappa: npt.ArrayLike) -> tuple[Array, Array]:
        """Return the true airspeed and its derivative by kappa, m/s, for a supposed kappa.

        Args:
            kappa: Broadcastable with one another.

        Returns:
            As `true_airspeed_for`.

        Raises:
            OutOfRangeError: If a reading is outside the range of the pitot-static relations.
        """
        static, impact = self.pressures()
        return true_airspeed_for(
            static,
            impact,
            self.temperature_k,
            recovery_factor=self.recovery_factor,
            kappa=np.asarray(kappa, dtype=np.float64),
            relative_humidity=self.relative_humidity,
        )


def true_airspeed_for(
    static_pa: Array,
    impact_pa: Array,
    temperature_k: Array,
    recovery_factor: Array,
    kappa: Array,
    relative_humidity: npt.ArrayLike = 0.0,
) -> tuple[Array, Array]:
    """Return the true airspeed and its derivative by kappa.

    Args:
        static_pa, impact_pa: ps_ind and qcic, Pa.
        temperature_k, recovery_factor (ndarray, broadcastable): Probe temperature in K, and
            recovery factor.
        kappa (ndarray, broadcastable): Supposed static-pressure error coefficient.
        relative_humidity (array_like, broadcastable): Of the ambient air over water; 0 for dry air.

    Returns:
        Vt in m/s and dVt/dkappa in m/s, broadcast shape. NaN where the supposed kappa leaves no
        positive pressure.
    """
    free = static_pa - kappa * impact_pa
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        mach_squared = 5.0 * np.expm1(np.log1p((1.0 + kappa) * impact_pa / free) / 3.5)
        mach = np.sqrt(mach_squared)
        rise = 1.0 + 0.2 * recovery_factor * mach_squared
        ambient = temperature_k / rise
        share = vapour_share(ambient, free, relative_humidity)
        dry = mach * np.sqrt(HEAT_CAPACITY_RATIO * GAS_CONSTANT_JPKGK * ambient)
        speed = dry / np.sqrt(1.0 - share)
        mach_by_kappa = (mach_squared + 5.0) * impact_pa / (7.0 * mach * free)
        cooling = 0.4 * recovery_factor * mach * mach_by_kappa / rise  # -dT/dkappa over T
        moistening = impact_pa / free - saturation_growth(ambient) * ambient * cooling
        slope = speed * (
            mach_by_kappa / mach - 0.5 * cooling + 0.5 * share / (1.0 - share) * moistening
        )
    return speed, slope
