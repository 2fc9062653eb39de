"""Linear fits to samples whose residuals remember: generalised least squares.

The residuals are first-order autoregressive with a memory that the data tell
only roughly. Each memory of a grid gets a weight from the restricted likelihood
and a weak prior; estimates and uncertainties are averaged over the grid.
Sources: P. J. Brockwell, R. A. Davis, Time Series: Theory and Methods (1991),
chapter 3; whitening of the first sample after S. J. Prais and C. B. Winsten;
restricted likelihood after Harville, JASA 72 (1977).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.sample_noise import EXPECTED_MEMORY_S, MEMORY_FACTOR

_MEMORIES_S: Final = np.geomspace(0.3, 40.0, 16)


@dataclass(frozen=True)
class WeighedFit:
    """Generalised least squares averaged over memories.

    Attributes
    ----------
    step : ndarray, shape (p,)
        To be added to the unknowns that the residuals were taken at.
    u_unknown : ndarray, shape (p,)
        Standard uncertainties.
    gain : ndarray, shape (p, n)
        The unknowns move by -gain @ change when the residuals change.
    memory_s : float
    independent : float
        How many independent samples the series is worth.
    criterion : float
        Corrected Akaike criterion, for comparing models of the same samples;
        smaller is better.
    """

    step: Array
    u_unknown: Array
    gain: Array
    memory_s: float
    independent: float
    criterion: float


@dataclass(frozen=True)
class _OneMemory:
    step: Array
    variance: Array
    gain: Array
    score: float
    likelihood: float
    independent: float


def weigh_memories(jacobian: Array, residual: Array, time_s: Array) -> WeighedFit:
    """Fit residual + jacobian @ step = noise for every memory, and average.

    Parameters
    ----------
    jacobian : ndarray, shape (n, p)
    residual : ndarray, shape (n,)
    time_s : ndarray, shape (n,)
        Strictly increasing, s.

    Returns
    -------
    WeighedFit
    """
    interval = np.diff(time_s)
    tried = [_with_memory(jacobian, residual, interval, float(m)) for m in _MEMORIES_S]
    off = np.log(_MEMORIES_S / EXPECTED_MEMORY_S) / np.log(MEMORY_FACTOR)
    score = np.array([one.score for one in tried]) + off**2
    weight = np.exp(-(score - score.min()) / 2.0)
    weight = weight / weight.sum()
    step = sum(w * one.step for w, one in zip(weight, tried, strict=True))
    variance = sum(
        w * (one.variance + (one.step - step) ** 2) for w, one in zip(weight, tried, strict=True)
    )
    gain = sum(w * one.gain for w, one in zip(weight, tried, strict=True))
    independent = float(weight @ np.array([one.independent for one in tried]))
    parameters = jacobian.shape[1]
    best = min(one.likelihood for one in tried)
    spare = max(independent - parameters - 2.0, 0.5)
    return WeighedFit(
        np.asarray(step),
        np.sqrt(np.asarray(variance)),
        np.asarray(gain),
        float(weight @ _MEMORIES_S),
        independent,
        best + 2.0 * (parameters + 1) * max(independent / spare, 1.0),
    )


def _with_memory(
    jacobian: Array, residual: Array, interval_s: Array, memory_s: float
) -> _OneMemory:
    rho = np.exp(-interval_s / memory_s)
    scale = np.sqrt(1.0 - rho**2)

    def whiten(values: Array) -> Array:
        return np.concatenate(
            [values[:1], (values[1:] - rho[:, None] * values[:-1]) / scale[:, None]]
        )

    count, parameters = jacobian.shape
    white = whiten(np.column_stack([jacobian, residual]))
    white_jacobian, white_residual = white[:, :-1], white[:, -1]
    size = np.sqrt((white_jacobian**2).sum(axis=0))
    normal = (white_jacobian / size).T @ (white_jacobian / size)
    inverse = np.linalg.pinv(normal, rcond=1e-12) / np.outer(size, size)
    row = inverse @ white_jacobian.T
    step = -row @ white_residual
    left = white_residual + white_jacobian @ step
    squares = max(float(left @ left), 1e-300)
    log_det = float(2.0 * np.log(scale).sum())
    free = count - parameters
    sign, log_det_normal = np.linalg.slogdet(normal)
    restricted = free * np.log(squares / free) + log_det + (log_det_normal if sign > 0 else 0.0)
    restricted += float(2.0 * np.log(size).sum())
    gain = np.concatenate([row[:, :1], row[:, 1:] / scale], axis=1)
    gain[:, :-1] -= rho * row[:, 1:] / scale
    return _OneMemory(
        step,
        np.diag(inverse) * squares / free,
        gain,
        float(restricted),
        float(count * np.log(squares / count) + log_det),
        max(1.0 + float(((1.0 - rho) / (1.0 + rho)).sum()), 1.0),
    )
