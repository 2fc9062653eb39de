"""An airframe that is flown season after season: its port, and instruments wrong in their own way.

What is drawn here is drawn once for an airframe and is the same on all its flights.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.budget import Assumptions
from seed_demo.air import FT, KT, Array
from tests.airdata.simulations.recorder import HUMIDITY, SCALING_MPS, Faults, Instruments

MIDDLE_LIFT = 0.25


@dataclass(frozen=True, kw_only=True)
class Port:
    """Error of a static port over lift: a level at `MIDDLE_LIFT`, a tilt, and a step that bends it.

    The step, as of a flow that shifts, is not a polynomial in lift: ``bend`` from end to end,
    about lift `where`, some 0.1 wide.
    """

    level: float
    tilt: float
    bend: float
    where: float

    def error(self, indicated_mps: Array, load_factor: Array) -> Array:
        """Return kappa at an indicated airspeed and a load factor."""
        lift = load_factor * (SCALING_MPS / indicated_mps) ** 2
        step = np.tanh((lift - self.where) / 0.1) - np.tanh((MIDDLE_LIFT - self.where) / 0.1)
        return np.asarray(self.level + self.tilt * (lift - MIDDLE_LIFT) + 0.5 * self.bend * step)


@dataclass(frozen=True, kw_only=True)
class Errors:
    """Errors of instruments that last as long as the airframe, SI."""

    airspeed_mps: float
    altitude_m: float
    temperature_k: float
    recovery: float

    def faults(self, humidity: Array) -> Faults:
        """Return them for flights in air of a humidity (flights,)."""
        one = np.ones((len(humidity), 1))
        return Faults(
            airspeed_mps=self.airspeed_mps * one,
            altitude_m=self.altitude_m * one,
            temperature_k=self.temperature_k * one,
            recovery=self.recovery * one,
            humidity=humidity[:, None] - HUMIDITY,
        )


def draw_port(rng: np.random.Generator) -> Port:
    """Draw a port: some 3 % in the middle, 1 kt or so more at 65 kt than at 115.

    Args:
        rng: Numpy Generator.
    """
    return Port(
        level=float(rng.normal(0.03, 0.015)),
        tilt=float(rng.normal(0.1, 0.04)),
        bend=float(rng.normal(0.0, 0.006)),
        where=float(rng.uniform(0.2, 0.45)),
    )


def draw_errors(rng: np.random.Generator) -> Errors:
    """Draw what stays wrong, of the standard deviations that a budget supposes where it has them.

    Args:
        rng: Numpy Generator.
    """
    recovery = np.sqrt(3.0) * Assumptions().u_recovery_factor
    return Errors(
        airspeed_mps=float(rng.normal(0.0, 0.3 * KT)),
        altitude_m=float(rng.normal(0.0, 20.0 * FT)),
        temperature_k=float(rng.normal(0.0, 1.0)),
        recovery=float(rng.uniform(-recovery, recovery)),
    )


def draw_instruments(rng: np.random.Generator) -> Instruments:
    """Draw lags: short lines, a receiver that answers within a second, a probe in its fairing.

    Args:
        rng: Numpy Generator.
    """
    return Instruments(
        line_lag_s=float(rng.uniform(0.1, 0.4)),
        gps_lag_s=float(rng.uniform(0.2, 0.8)),
        gps_mps=0.05,
        probe_lag_s=float(rng.uniform(5.0, 20.0)),
    )
