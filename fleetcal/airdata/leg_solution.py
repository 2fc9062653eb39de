"""Wind and static-pressure error from the GPS legs of a run, many runs at once.

Every leg i obeys |g_i - w| = Vt_i(kappa): its ground vector less one wind has
the length of its own true airspeed. Wind and kappa are found together by
non-linear least squares (Gauss-Newton with the analytic Jacobian), started
from the closed-form circle. Using each leg's own airspeed removes the error of
not holding exactly the same speed on each leg. The principle of solving wind
and a common airspeed error from ground vectors is that of the USAF Test Pilot
School's cloverleaf method (Olson, AFFTC-TIH-99-01).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import SEA_LEVEL_TEMPERATURE_K, Array
from fleetcal.airdata.ground_vectors import wind_circle
from fleetcal.airdata.reading import Readings, true_airspeed_for

_ROUNDS: Final = 40
_TOLERANCE: Final = 1e-12
# Ground vector that stands in for padding: no wind can meet it, so its residual stays finite
# and counts 0 times.
_FAR_MPS: Final = 1e4


@dataclass(frozen=True, kw_only=True)
class LegSolution:
    """Solution of many runs; arrays are padded to the longest run.

    Attributes:
        wind_east_mps, wind_north_mps, kappa (runs,): The unknowns. NaN where a run has no solution.
        true_airspeed_mps (runs, legs): Vt of each leg at the solution, m/s.
        residual_mps (runs, legs): |g - w| - Vt, m/s; 0 for padding.
        gain (runs, 3, legs): How the unknowns answer to a change of each leg's residual: the
            solution moves by -gain @ change.
        legs (runs,): Number of legs that count.
        converged: Shape (runs,).
    """

    wind_east_mps: Array
    wind_north_mps: Array
    kappa: Array
    true_airspeed_mps: Array
    residual_mps: Array
    gain: Array
    legs: npt.NDArray[np.int64]
    converged: npt.NDArray[np.bool_]


def solve_legs(
    east_mps: npt.ArrayLike,
    north_mps: npt.ArrayLike,
    readings: Readings,
    weight: npt.ArrayLike | None = None,
) -> LegSolution:
    """Solve wind and kappa of many runs in one call.

    Args:
        east_mps, north_mps (runs, legs) or (legs,): Mean ground vector of each leg, m/s.
        readings: Mean readings of each leg, same shape.
        weight (same shape): 1 for a leg that counts, 0 for padding, in which any value may stand
            that is in range, or NaN. All ones by default.

    Returns:
        A run with fewer than three legs, or with vectors on one line, comes back with NaN and
        `converged` False.

    Raises:
        OutOfRangeError: If a reading is outside the range of the pitot-static relations.
    """
    east = np.atleast_2d(np.asarray(east_mps, dtype=np.float64))
    north = np.atleast_2d(np.asarray(north_mps, dtype=np.float64))
    count = np.ones_like(east) if weight is None else np.atleast_2d(np.asarray(weight, float))
    used = count > 0.0
    air = _air_of(readings, used)
    east, north = np.where(used, east, _FAR_MPS), np.where(used, north, _FAR_MPS)
    unknown = _start(east, north, air, count)
    converged = np.zeros(len(east), dtype=bool)
    for _ in range(_ROUNDS):
        residual, jacobian, _ = _model(unknown, east, north, air, count)
        step = _least_squares_step(jacobian, residual)
        unknown = unknown + step
        unknown[:, 2] = np.clip(unknown[:, 2], -0.95, 5.0)
        size = np.abs(step).max(axis=1) / np.maximum(1.0, np.abs(unknown).max(axis=1))
        converged = size < _TOLERANCE
        if np.all(converged | np.isnan(size)):
            break
    residual, jacobian, speed = _model(unknown, east, north, air, count)
    return LegSolution(
        wind_east_mps=unknown[:, 0],
        wind_north_mps=unknown[:, 1],
        kappa=unknown[:, 2],
        true_airspeed_mps=speed,
        residual_mps=residual,
        gain=_gain(jacobian),
        legs=count.sum(axis=1).astype(np.int64),
        converged=converged & (count.sum(axis=1) >= 3),
    )


@dataclass(frozen=True, kw_only=True)
class _Air:
    static_pa: Array
    impact_pa: Array
    temperature_k: Array
    recovery_factor: Array
    relative_humidity: Array


def _air_of(readings: Readings, used: npt.NDArray[np.bool_]) -> _Air:
    """Return what the legs felt, with values in the padding that every relation can take."""
    static, impact = readings.pressures()
    return _Air(
        static_pa=np.where(used, static, 1e5),
        impact_pa=np.where(used, impact, 1e3),
        temperature_k=np.where(used, readings.temperature_k, SEA_LEVEL_TEMPERATURE_K),
        recovery_factor=np.where(used, readings.recovery_factor, 0.0),
        relative_humidity=np.where(used, readings.relative_humidity, 0.0),
    )


def _true_airspeed(air: _Air, kappa: Array) -> tuple[Array, Array]:
    return true_airspeed_for(
        air.static_pa,
        air.impact_pa,
        air.temperature_k,
        recovery_factor=air.recovery_factor,
        kappa=kappa,
        relative_humidity=air.relative_humidity,
    )


def _start(east: Array, north: Array, air: _Air, count: Array) -> Array:
    """Return (wind east, wind north, kappa) from the circle, shape (runs, 3)."""
    circle = wind_circle(east, north, count)
    zero = np.zeros((len(east), 1))
    speed, _ = _true_airspeed(air, zero)
    mean = (count * speed).sum(axis=1) / np.maximum(count.sum(axis=1), 1.0)
    kappa = np.clip((circle.radius_mps / mean) ** 2 - 1.0, -0.9, 4.0)
    return np.stack([circle.east_mps, circle.north_mps, kappa], axis=1)


def _model(
    unknown: Array, east: Array, north: Array, air: _Air, count: Array
) -> tuple[Array, Array, Array]:
    """Return residuals (runs, legs), Jacobian (runs, legs, 3) and true airspeeds."""
    air_east = east - unknown[:, 0:1]
    air_north = north - unknown[:, 1:2]
    length = np.hypot(air_east, air_north)
    speed, slope = _true_airspeed(air, unknown[:, 2:3])
    jacobian = np.stack([-air_east / length, -air_north / length, -slope], axis=-1)
    return count * (length - speed), count[..., None] * jacobian, speed


def _normal_inverse(jacobian: Array) -> Array:
    """Return (J'J)^-1 with columns scaled first, NaN where it does not exist."""
    normal = np.einsum("rli,rlj->rij", jacobian, jacobian)
    scale = np.sqrt(np.einsum("rii->ri", normal))
    with np.errstate(divide="ignore", invalid="ignore"):
        scaled = normal / (scale[:, :, None] * scale[:, None, :])
        determinant = np.linalg.det(np.where(np.isfinite(scaled), scaled, 0.0))
        good = np.isfinite(scaled).all(axis=(1, 2)) & (determinant > 1e-12)
        safe = np.where(good[:, None, None], scaled, np.eye(3))
        inverse = np.linalg.inv(safe) / (scale[:, :, None] * scale[:, None, :])
    return np.where(good[:, None, None], inverse, np.nan)


def _gain(jacobian: Array) -> Array:
    gain: Array = np.einsum("rij,rlj->ril", _normal_inverse(jacobian), jacobian)
    return gain


def _least_squares_step(jacobian: Array, residual: Array) -> Array:
    step: Array = -np.einsum("ril,rl->ri", _gain(jacobian), residual)
    return step
