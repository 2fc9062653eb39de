"""Wind and static-pressure error from every sample of a manoeuvre.

A steady turn, or flight on changing tracks at constant power, shows the air
vector in many directions: each sample j obeys |g_j - w_j| = Vt_j(kappa). The
wind may drift linearly in time and change linearly with height; these are
fitted only when they differ from zero beyond chance and the data can bear them.
The solve is plain least squares. Weighing the samples by their memory would go
wrong: a gust is in the airspeed, so in the residual and in its slope by kappa,
and what whitening leaves of the slope is little else. That residuals of
neighbouring samples resemble each other is counted in the uncertainty alone.
The use of turning flight for air-data calibration is that of Olson, Air Data
Calibration from Turning Flight (USAF Test Pilot School, 1999).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import fdtrc

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.ground_vectors import wind_circle
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.robust_covariance import robust_covariance

#: Names of the winds that may be tried, with the number of unknowns of each.
WIND_MODELS: Final = {"steady": 2, "drifting": 4, "sheared": 4, "drifting and sheared": 6}
#: Chance of a richer wind being believed where there is none.
CHANCE: Final = 0.01
#: A richer wind may not make kappa this many times less certain.
BEARABLE: Final = 2.0
_ROUNDS: Final = 50


@dataclass(frozen=True, kw_only=True)
class ManoeuvreSolution:
    """Solution of one manoeuvre.

    Attributes:
        kappa, u_kappa: Static-pressure error coefficient; standard uncertainty from the scatter of
            the samples alone.
        degrees_of_freedom: Of `u_kappa`.
        wind_east_mps, wind_north_mps: At mid-time and mean height, m/s.
        drift_mps2, shear_per_s: Change of the wind (east, north) by time in m/s per s and by height
            in m/s per m; zeros when not fitted.
        wind_model: One of `WIND_MODELS`.
        other_kappa: By another estimate, which must agree.
        true_airspeed_mps, residual_mps: Shape (n,).
        gain (n,): kappa moves by -gain @ change when the residuals change.
        air_direction (2, n): Unit vectors (east, north) of the air vector.
    """

    kappa: float
    u_kappa: float
    degrees_of_freedom: float
    wind_east_mps: float
    wind_north_mps: float
    drift_mps2: tuple[float, float]
    shear_per_s: tuple[float, float]
    wind_model: str
    other_kappa: float
    true_airspeed_mps: Array
    residual_mps: Array
    gain: Array
    air_direction: Array
    converged: bool


def solve_manoeuvre(
    time_s: Array,
    east_mps: Array,
    north_mps: Array,
    readings: Readings,
    wind_model: str | None = None,
) -> ManoeuvreSolution:
    """Solve wind and kappa from every sample of a manoeuvre.

    Args:
        time_s (n,): Strictly increasing, s.
        east_mps, north_mps (n,): Ground vectors, m/s.
        readings: Same shape (recovery factor may be a scalar array).
        wind_model: One of `WIND_MODELS`; chosen by evidence when None.

    Returns:
        `converged` is False, with NaN, where the samples do not determine it.

    Raises:
        OutOfRangeError: If a reading is outside the range of the pitot-static relations.
    """
    problem = _Problem(time_s, east_mps, north_mps, readings)
    if wind_model is not None:
        return _finish(problem, _fit(problem, wind_model))
    best = _fit(problem, "steady")
    best = _better(
        best, [_fit(problem, n) for n in ("drifting", *(("sheared",) if problem.climbs else ()))]
    )
    if problem.climbs:
        best = _better(best, [_fit(problem, "drifting and sheared")])
    return _finish(problem, best)


def _better(best: _Fit, richer: list[_Fit]) -> _Fit:
    """Return the richer wind that is needed, can be borne and leaves least; else `best`."""
    added = len(richer[0].unknown) - len(best.unknown)
    good = [
        fit
        for fit in richer
        if fit.converged and fit.u_kappa <= BEARABLE * best.u_kappa and _is_needed(fit, added)
    ]
    return min(good, key=lambda fit: fit.squares, default=best)


def _is_needed(richer: _Fit, added: int) -> bool:
    """Tell whether the last unknowns of the wind differ from zero beyond chance."""
    last = slice(-1 - added, -1)
    value, covariance = richer.unknown[last], richer.covariance[last, last]
    ratio = float(value @ np.linalg.pinv(covariance) @ value) / added
    return bool(fdtrc(added, richer.freedom, ratio) < CHANCE)


class _Problem:
    """The samples, and the model of them at given unknowns."""

    def __init__(self, time_s: Array, east: Array, north: Array, readings: Readings) -> None:
        self.time_s, self.east, self.north = time_s, east, north
        self.readings = readings
        span = max(float(np.ptp(time_s)) / 2.0, 1.0)
        self.time_scale_s = span
        self.since = (time_s - (time_s[0] + time_s[-1]) / 2.0) / span
        height = np.asarray(readings.altitude_m, dtype=np.float64)
        self.height_scale_m = max(float(np.ptp(height)) / 2.0, 1.0)
        self.above = (height - height.mean()) / self.height_scale_m
        self.climbs = float(np.ptp(height)) > 100.0

    def ramps(self, wind_model: str) -> list[Array]:
        """Return the functions that multiply each pair of wind unknowns."""
        ramps = [np.ones_like(self.since)]
        if "drifting" in wind_model:
            ramps.append(self.since)
        if "sheared" in wind_model:
            ramps.append(self.above)
        return ramps

    def start(self, wind_model: str) -> Array:
        ones = np.ones((1, len(self.east)))
        circle = wind_circle(self.east[None], self.north[None], ones)
        speed = self.readings.true_airspeed(0.0)[0]
        kappa = float(circle.radius_mps[0] / np.mean(speed)) ** 2 - 1.0
        unknown = np.zeros(WIND_MODELS[wind_model] + 1)
        unknown[0], unknown[1] = circle.east_mps[0], circle.north_mps[0]
        unknown[-1] = np.clip(kappa, -0.9, 4.0)
        return unknown

    def model(self, unknown: Array, ramps: list[Array]) -> tuple[Array, Array, Array, Array]:
        """Return residuals, Jacobian, true airspeeds and air directions."""
        wind_east = sum(unknown[2 * i] * ramp for i, ramp in enumerate(ramps))
        wind_north = sum(unknown[2 * i + 1] * ramp for i, ramp in enumerate(ramps))
        air = np.stack([self.east - wind_east, self.north - wind_north])
        length = np.hypot(air[0], air[1])
        direction = air / length
        speed, slope = self.readings.true_airspeed(unknown[-1:])
        columns = [-direction[axis] * ramp for ramp in ramps for axis in (0, 1)]
        return length - speed, np.column_stack([*columns, -slope]), speed, direction


@dataclass(frozen=True, kw_only=True)
class _Fit:
    wind_model: str
    unknown: Array
    covariance: Array
    freedom: float
    gain: Array
    other_kappa: float
    squares: float
    converged: bool

    @property
    def u_kappa(self) -> float:
        return float(np.sqrt(self.covariance[-1, -1]))


def _fit(problem: _Problem, wind_model: str) -> _Fit:
    ramps = problem.ramps(wind_model)
    unknown, converged = _gauss_newton(problem, problem.start(wind_model), ramps)
    if not converged or len(problem.east) <= len(unknown) + 2:
        return _unsolved(problem, wind_model, unknown)
    residual, jacobian, _, _ = problem.model(unknown, ramps)
    if not _is_regular(jacobian):
        return _unsolved(problem, wind_model, unknown)
    gain = np.asarray(np.linalg.pinv(jacobian, rcond=1e-10), dtype=np.float64)
    found = robust_covariance(gain, jacobian, residual, problem.time_s)
    return _Fit(
        wind_model=wind_model,
        unknown=unknown,
        covariance=found.covariance,
        freedom=float(found.degrees_of_freedom[-1]),
        gain=gain[-1],
        other_kappa=_other_kappa(unknown, jacobian, residual),
        squares=float(residual @ residual),
        converged=True,
    )


def _unsolved(problem: _Problem, wind_model: str, unknown: Array) -> _Fit:
    nothing = np.full(len(problem.east), np.nan)
    endless = np.full((len(unknown), len(unknown)), np.inf)
    return _Fit(
        wind_model=wind_model,
        unknown=unknown,
        covariance=endless,
        freedom=1.0,
        gain=nothing,
        other_kappa=np.nan,
        squares=np.inf,
        converged=False,
    )


def _is_regular(jacobian: Array) -> bool:
    """Tell whether the samples tell the unknowns apart; time and height may go together."""
    size = np.sqrt((jacobian**2).sum(axis=0))
    if not np.all(np.isfinite(jacobian)) or np.any(size == 0.0):
        return False
    return bool(np.linalg.cond(jacobian / size) < 1e4)


def _other_kappa(unknown: Array, jacobian: Array, residual: Array) -> float:
    """Return kappa by instruments: one for the slope by kappa, which hardly changes.

    A gust is in the residual and in the slope of the same sample, which least
    squares takes for a sign of kappa; a constant has no part of it.
    """
    instruments = jacobian.copy()
    instruments[:, -1] = 1.0
    step = np.linalg.pinv(instruments.T @ jacobian, rcond=1e-12) @ (instruments.T @ residual)
    return float(unknown[-1] - step[-1])


def _gauss_newton(problem: _Problem, unknown: Array, ramps: list[Array]) -> tuple[Array, bool]:
    """Return the plain least-squares solution, about which the noise is weighed."""
    for _ in range(_ROUNDS):
        residual, jacobian, _, _ = problem.model(unknown, ramps)
        if not (np.all(np.isfinite(residual)) and np.all(np.isfinite(jacobian))):
            return np.full_like(unknown, np.nan), False
        step = np.linalg.lstsq(jacobian, -residual, rcond=1e-10)[0]
        unknown = unknown + step
        unknown[-1] = np.clip(unknown[-1], -0.95, 5.0)
        if np.abs(step).max() < 1e-10 * max(1.0, float(np.abs(unknown).max())):
            return unknown, True
    return unknown, False


def _finish(problem: _Problem, fit: _Fit) -> ManoeuvreSolution:
    ramps = problem.ramps(fit.wind_model)
    residual, _, speed, direction = problem.model(fit.unknown, ramps)
    pairs = fit.unknown[:-1].reshape(-1, 2)
    drift = pairs[1] / problem.time_scale_s if "drifting" in fit.wind_model else np.zeros(2)
    shear = pairs[-1] / problem.height_scale_m if "sheared" in fit.wind_model else np.zeros(2)
    return ManoeuvreSolution(
        kappa=float(fit.unknown[-1]),
        u_kappa=fit.u_kappa,
        degrees_of_freedom=fit.freedom,
        wind_east_mps=float(pairs[0, 0]),
        wind_north_mps=float(pairs[0, 1]),
        drift_mps2=(float(drift[0]), float(drift[1])),
        shear_per_s=(float(shear[0]), float(shear[1])),
        wind_model=fit.wind_model,
        other_kappa=fit.other_kappa,
        true_airspeed_mps=speed,
        residual_mps=residual,
        gain=fit.gain,
        air_direction=direction,
        converged=fit.converged,
    )
