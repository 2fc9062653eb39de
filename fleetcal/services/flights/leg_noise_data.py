"""How noisy the samples of a run are, and how far its readings moved."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.budget import LegData
from fleetcal.airdata.leg_solution import LegSolution
from fleetcal.airdata.sample_noise import estimate_noise
from fleetcal.services.flights.flown_leg import FlownLeg, RunMeans

_READ_ONCE_SCATTER: Final = 0.008  # of airspeed: one reading by eye in place of a mean


def leg_data(
    legs: Sequence[FlownLeg], means: RunMeans, solution: LegSolution, steps: dict[str, float]
) -> LegData:
    """Return what the budget of a run needs to know of its legs.

    Args:
        means: Of these legs.
        solution: Of one run.
        steps: Smallest step of each logged quantity, SI.
    """
    residuals = [_residual_series(leg, solution) for leg in legs]
    interval = _interval(legs)
    noise = estimate_noise([r for r in residuals if len(r) > 1], interval)
    read_once = _READ_ONCE_SCATTER * float(solution.true_airspeed_mps[0].mean())
    middle = [
        (leg.start_s + leg.stop_s) / 2.0
        if leg.start_s is not None and leg.stop_s is not None
        else 90.0 * i  # unknown times: a leg every minute and a half
        for i, leg in enumerate(legs)
    ]
    return LegData(
        east_mps=means.east_mps,
        north_mps=means.north_mps,
        readings=means.readings,
        middle_s=np.array(middle),
        u_mean_mps=np.array(
            [
                noise.mean_uncertainty(_lasting(leg, interval)) if leg.samples > 1 else read_once
                for leg in legs
            ]
        ),
        movement=_movement(legs),
        steps=steps,
    )


def _interval(legs: Sequence[FlownLeg]) -> float:
    """Return the usual time between two samples, s."""
    steps = [np.diff(leg.time_s) for leg in legs if leg.samples > 1]
    return float(np.median(np.concatenate(steps))) if steps else 1.0


def _lasting(leg: FlownLeg, interval_s: float) -> float:
    return float(leg.time_s[-1] - leg.time_s[0]) + interval_s


def _residual_series(leg: FlownLeg, solution: LegSolution) -> Array:
    speed, _ = leg.readings.true_airspeed(solution.kappa[:1])
    length = np.hypot(
        leg.east_mps - solution.wind_east_mps[0], leg.north_mps - solution.wind_north_mps[0]
    )
    return np.asarray(length - speed)


def _movement(legs: Sequence[FlownLeg]) -> dict[str, float]:
    def spread(values: Sequence[Array]) -> float:
        return float(np.sqrt(np.mean([np.nanvar(v) for v in values])))

    ground = [np.hypot(leg.east_mps, leg.north_mps) for leg in legs]
    turned = [
        np.angle(np.exp(1j * (np.arctan2(leg.east_mps, leg.north_mps) - leg.track_rad)))
        for leg in legs
    ]
    return {
        "airspeed": spread([leg.airspeed_mps for leg in legs]),
        "altitude": spread([leg.altitude_m for leg in legs]),
        "temperature": spread([leg.temperature_k for leg in legs]),
        "ground_speed": spread(ground),
        "track": spread(turned),
    }
