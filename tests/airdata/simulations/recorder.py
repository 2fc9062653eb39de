"""What the instruments make of a flight, once a second: errors that last, lags, steps.

The errors of a flight are drawn once, since an indicator, an altimeter and a
probe are wrong alike in all its runs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.budget import Assumptions
from seed_demo import air as atmosphere
from seed_demo.air import FT, KT, Array
from seed_demo.gusts import following, remembering
from tests.airdata.simulations.air import STEP_S
from tests.airdata.simulations.plans import Plan
from tests.airdata.simulations.point_mass import Motion

RECOVERY = 0.8
#: Relative humidity of the air; what is drawn about it is uniform, as the program supposes
#: where nobody noted it.
HUMIDITY = 0.55
STEPS = {
    "airspeed": 0.1 * KT,
    "altitude": FT,
    "temperature": 0.1,
    "ground_speed": 0.1 * KT,
    "track": float(np.radians(0.1)),
}
EVERY = round(1.0 / STEP_S)
SCALING_MPS = 45.0 * KT
HEATED_AT_MPS = 10.0

#: The error of a port at an indicated airspeed (m/s) and a load factor.
PortError = Callable[[Array, Array], Array]


@dataclass(frozen=True, kw_only=True)
class Instruments:
    """Lags and warming of the instruments; zero is an instrument that follows at once.

    Attributes:
        line_lag_s: Of pitot and static lines.
        gps_lag_s: Pure delay of the ground vector.
        gps_mps: Standard deviation of each component's error, remembered for 30 s.
        self_heating_k: By how much the probe is warmer than the air it feels at 10 m/s; falls as
            the root of airspeed, as cooling of a wire does (King's law, from memory).
    """

    line_lag_s: float = 0.0
    gps_lag_s: float = 0.0
    gps_mps: float = 0.03
    probe_lag_s: float = 0.0
    self_heating_k: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Faults:
    """Errors that last over a flight, shape (flights, 1), SI."""

    airspeed_mps: Array
    altitude_m: Array
    temperature_k: Array
    recovery: Array
    humidity: Array

    @classmethod
    def none(cls, flights: int) -> Faults:
        """Return instruments without error."""
        zero = np.zeros((flights, 1))
        return cls(
            airspeed_mps=zero, altitude_m=zero, temperature_k=zero, recovery=zero, humidity=zero
        )

    @classmethod
    def drawn(cls, rng: np.random.Generator, flights: int, supposed: Assumptions) -> Faults:
        """Draw errors of the standard deviations that a budget supposes."""
        shape = (flights, 1)
        return cls(
            airspeed_mps=rng.normal(0.0, supposed.u_airspeed_mps, shape),
            altitude_m=rng.normal(0.0, supposed.u_altitude_m, shape),
            temperature_k=rng.normal(0.0, supposed.u_temperature_k, shape),
            recovery=np.sqrt(3.0) * supposed.u_recovery_factor * rng.uniform(-1.0, 1.0, shape),
            humidity=0.35 * rng.uniform(-1.0, 1.0, shape),
        )


@dataclass(frozen=True, kw_only=True)
class Log:
    """Samples once a second as a recorder keeps them, shape (flights, seconds), SI.

    `kappa` is the true one of each sample, and `felt_mps` what an indicator without error or
    lag would show; `run` and `leg`, shape (seconds,), tell where
    the pilot measures.
    """

    time_s: Array
    airspeed_mps: Array
    altitude_m: Array
    temperature_k: Array
    east_mps: Array
    north_mps: Array
    kappa: Array
    felt_mps: Array
    run: Array
    leg: Array


def true_kappa(indicated_mps: Array, load_factor: Array) -> Array:
    """Return the error of the invented port, which goes with lift coefficient."""
    lift = load_factor * (SCALING_MPS / indicated_mps) ** 2
    return 0.03 + 0.1 * (lift - 0.25)


def record(
    rng: np.random.Generator,
    plan: Plan,
    motion: Motion,
    fitted: Instruments,
    faults: Faults,
    *,
    port_error: PortError = true_kappa,
) -> Log:
    """Record flights.

    Args:
        rng: Numpy Generator.
    """
    static = atmosphere.standard_pressure(motion.altitude_m)
    ambient = motion.temperature_k
    mach = motion.airspeed_mps / atmosphere.speed_of_sound(ambient)
    moisture = HUMIDITY + faults.humidity
    impact = atmosphere.moist_impact_pressure(motion.airspeed_mps, ambient, static, moisture)
    felt, kappa = _felt(impact, motion.load_factor, port_error)
    port = following(static + impact - felt, fitted.line_lag_s, STEP_S)[:, ::EVERY]
    total = following(static + impact, fitted.line_lag_s, STEP_S)[:, ::EVERY]
    warmed = fitted.self_heating_k * np.sqrt(HEATED_AT_MPS / motion.airspeed_mps)
    probe = ambient * (1.0 + 0.2 * (RECOVERY + faults.recovery) * mach**2) + warmed
    probe = following(probe, fitted.probe_lag_s, STEP_S)[:, ::EVERY] + faults.temperature_k
    east, north = (_ground(rng, part, fitted) for part in (motion.east_mps, motion.north_mps))
    speed = _stepped(np.hypot(east, north), "ground_speed")
    track = _stepped(np.arctan2(east, north), "track")
    return Log(
        time_s=np.arange(port.shape[1], dtype=float),
        airspeed_mps=_stepped(
            atmosphere.dial_speed(total - port) + faults.airspeed_mps, "airspeed"
        ),
        altitude_m=_stepped(atmosphere.pressure_altitude(port) + faults.altitude_m, "altitude"),
        temperature_k=_stepped(probe, "temperature"),
        east_mps=speed * np.sin(track),
        north_mps=speed * np.cos(track),
        kappa=kappa[:, ::EVERY],
        felt_mps=atmosphere.dial_speed(felt[:, ::EVERY]),
        run=plan.run[::EVERY],
        leg=plan.leg[::EVERY],
    )


def _felt(impact: Array, load_factor: Array, port_error: PortError) -> tuple[Array, Array]:
    felt = impact
    for _ in range(12):
        kappa = port_error(atmosphere.dial_speed(felt), load_factor)
        felt = impact / (1.0 + kappa)
    return felt, kappa


def _ground(rng: np.random.Generator, part: Array, fitted: Instruments) -> Array:
    late = np.maximum(np.arange(part.shape[1]) - round(fitted.gps_lag_s / STEP_S), 0)
    seen = part[:, late][:, ::EVERY]
    return seen + remembering(rng, seen.shape, fitted.gps_mps, 30.0, 1.0)


def _stepped(values: Array, quantity: str) -> Array:
    return np.round(values / STEPS[quantity]) * STEPS[quantity]
