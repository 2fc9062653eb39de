"""What the indicator of an airframe shows at an airspeed, by its last bench check."""

from __future__ import annotations

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.services.bench.bench_corrections import BenchInForce
from fleetcal.units import MPS_PER_KT


def to_be_read(bench: BenchInForce, speed_kt: float) -> float:
    """Return what the indicator shows at a speed, to 1 kt where its own correction is known."""
    shown = on_indicator(bench, speed_kt)
    return speed_kt if bench.airspeed is None else float(round(shown))


def on_indicator(bench: BenchInForce, speed_kt: float) -> float:
    """Return what the indicator shows at a speed; the speed itself without a bench check."""
    corrected = float(bench.corrected("airspeed", np.array([speed_kt * MPS_PER_KT]))[0])
    return 2.0 * speed_kt - corrected / MPS_PER_KT


def beyond_bench(bench: BenchInForce, speeds: Array) -> tuple[str, ...]:
    """Say which check airspeeds go by, and which of them lie beyond it."""
    if bench.airspeed is None:
        return ("no bench check of the airspeed indicator: its own correction is taken as zero",)
    warning = bench.beyond("airspeed", [speeds * MPS_PER_KT])
    applied = f"airspeeds are what the indicator shows, checked {bench.airspeed.checked_on}"
    return (applied, warning) if warning else (applied,)
