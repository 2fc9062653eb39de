"""The instruments of one airframe: errors that last over all its sorties, and lags."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from seed_demo.air import FT, KT, Array
from seed_demo.gusts import following

STEP_S: Final = 1.0
# Heat of its own or of the skin warms a probe less the faster it is cooled: by the root of
# airspeed (King's law, from memory).
WARMED_AT_MPS: Final = 50.0
AIRSPEED_SD_KT: Final = 0.2
ALTIMETER_SD_FT: Final = 12.0
PROBE_SD_K: Final = 0.6
HUMIDITY_SD: Final = 0.03


@dataclass(frozen=True, kw_only=True)
class Instruments:
    """What an airframe's instruments get wrong, SI; the same in every sortie.

    `airspeed_mps` and `altimeter_m` are what a bench would find, `probe_k` is the
    probe's error, `probe_warming_k` what its own warmth adds at 50 m/s, `humidity` what
    a humidity sensor shows too much, 1 at saturation. `probe_recovery` is true of the
    temperature as it is displayed: 0 where outside temperature is. The lines
    to the pitot and the port, the probe and the GPS velocity come late.
    """

    probe_recovery: float = 0.8
    airspeed_mps: float = 0.0
    altimeter_m: float = 0.0
    probe_k: float = 0.0
    probe_warming_k: float = 0.0
    probe_lag_s: float = 6.0
    line_lag_s: float = 0.0
    gps_lag_s: float = 0.0
    humidity: float = 0.0


RIGHT: Final = Instruments()


def drawn_instruments(probe_recovery: float, rng: np.random.Generator) -> Instruments:
    """Draw the instruments of an airframe whose probe has a recovery factor."""
    return Instruments(
        probe_recovery=probe_recovery,
        airspeed_mps=float(rng.normal(0.0, AIRSPEED_SD_KT)) * KT,
        altimeter_m=float(rng.normal(0.0, ALTIMETER_SD_FT)) * FT,
        probe_k=float(rng.normal(0.0, PROBE_SD_K)),
        probe_warming_k=float(rng.uniform(0.0, 0.4)),
        probe_lag_s=float(rng.uniform(5.0, 20.0)),
        line_lag_s=float(rng.uniform(0.1, 0.5)),
        gps_lag_s=float(rng.uniform(0.2, 1.0)),
        humidity=float(rng.normal(0.0, HUMIDITY_SD)),
    )


def probe_reading(fitted: Instruments, felt_k: Array, airspeed_mps: Array) -> Array:
    """Return what the probe shows (K, (n,)) of the temperature that it feels (K)."""
    cooled = np.sqrt(WARMED_AT_MPS / np.maximum(airspeed_mps, 0.2 * WARMED_AT_MPS))
    warm = felt_k + fitted.probe_warming_k * cooled
    return following(warm, fitted.probe_lag_s, STEP_S) + fitted.probe_k


def through_line(fitted: Instruments, pressure_pa: Array) -> Array:
    """Return a pressure (Pa, (n,)) at the end of its line."""
    return following(pressure_pa, fitted.line_lag_s, STEP_S)


def delayed(fitted: Instruments, velocity_mps: Array) -> Array:
    """Return a velocity (m/s, (n,)) as late as the receiver gives it."""
    second = np.arange(velocity_mps.size, dtype=np.float64)
    return np.interp(second - fitted.gps_lag_s, second, velocity_mps)
