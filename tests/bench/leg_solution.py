"""Time 10,000 runs of four 60-sample legs in one call against scipy run by run.

``python -m tests.bench.leg_solution``
"""

from __future__ import annotations

import statistics
import time

import numpy as np
from scipy.optimize import least_squares

from fleetcal.airdata.leg_solution import solve_legs
from fleetcal.airdata.reading import Readings, true_airspeed_for
from tests.airdata.simulations.flown import Air, fly, leg_times, readings

RUNS, LEGS, LEG_S = 10_000, 4, 60
BY_SCIPY = 300  # runs solved one by one; their time is scaled up


def main() -> None:
    """Print the ratio of times (medians of five) and the largest difference."""
    heading = np.radians(np.repeat((0.0, 90.0, 180.0, 270.0), LEG_S))
    rng = np.random.default_rng(5)
    flown = fly(rng, RUNS, leg_times(LEGS, LEG_S, 35), heading, Air())
    batch, single = [], []
    for _ in range(5):
        start = time.perf_counter()
        means = [
            v.reshape(RUNS, LEGS, LEG_S).mean(axis=2)
            for v in (flown.east_mps, flown.north_mps, flown.indicated_mps)
        ]
        solution = solve_legs(means[0], means[1], readings(means[2]))
        batch.append(time.perf_counter() - start)
        start = time.perf_counter()
        for i in range(BY_SCIPY):
            _by_scipy(*(m[i] for m in means))
        single.append((time.perf_counter() - start) * RUNS / BY_SCIPY)
    ours = np.stack([solution.wind_east_mps, solution.wind_north_mps, solution.kappa], axis=1)
    accurate = [
        _by_scipy(means[0][i], means[1][i], means[2][i], exact=True) for i in range(BY_SCIPY)
    ]
    apart = float(np.abs(ours[:BY_SCIPY] - np.array(accurate)).max())
    print(f"one batched call, {RUNS} runs of {LEGS} legs: {statistics.median(batch):.3f} s")
    print(f"scipy.optimize.least_squares run by run: {statistics.median(single):.1f} s (scaled)")
    ratios = [s / b for s, b in zip(single, batch, strict=True)]
    print(
        f"ratio {statistics.median(ratios):.0f}; "
        f"largest difference, scipy with the exact Jacobian: {apart:.1e}"
    )


def _by_scipy(
    east: np.ndarray[tuple[int], np.dtype[np.float64]],
    north: np.ndarray[tuple[int], np.dtype[np.float64]],
    indicated: np.ndarray[tuple[int], np.dtype[np.float64]],
    exact: bool = False,
) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    taken: Readings = readings(indicated)
    static, impact = taken.pressures()

    def residual(unknown: np.ndarray[tuple[int], np.dtype[np.float64]]) -> np.ndarray:
        speed, _ = true_airspeed_for(
            static, impact, taken.temperature_k, taken.recovery_factor, unknown[2:]
        )
        return np.asarray(np.hypot(east - unknown[0], north - unknown[1]) - speed)

    def jacobian(unknown: np.ndarray[tuple[int], np.dtype[np.float64]]) -> np.ndarray:
        _, slope = true_airspeed_for(
            static, impact, taken.temperature_k, taken.recovery_factor, unknown[2:]
        )
        length = np.hypot(east - unknown[0], north - unknown[1])
        return np.column_stack(
            [-(east - unknown[0]) / length, -(north - unknown[1]) / length, -slope]
        )

    start = np.array([east.mean(), north.mean(), 0.0])
    if exact:
        return least_squares(residual, start, jac=jacobian, xtol=1e-14, ftol=1e-14, gtol=1e-14).x
    return least_squares(residual, start, xtol=1e-14, ftol=1e-14, gtol=1e-14).x


if __name__ == "__main__":
    main()
