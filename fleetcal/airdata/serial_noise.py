"""Residuals that remember: first-order autoregressive noise on uneven samples.

Source: P. J. Brockwell, R. A. Davis, Time Series: Theory and Methods (1991),
chapter 3; the whitening of the first sample follows S. J. Prais, C. B. Winsten.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.atmosphere import Array


@dataclass(frozen=True)
class SerialNoise:
    """Noise with correlation exp(-interval / memory) between samples.

    Attributes
    ----------
    memory_s : float
        0 for noise without memory.
    interval_s : ndarray, shape (n - 1,)
        Time between neighbouring samples, s.
    """

    memory_s: float
    interval_s: Array

    def correlation(self) -> Array:
        """Return the correlation of each sample with the one before, shape (n - 1,)."""
        if self.memory_s <= 0.0:
            return np.zeros_like(self.interval_s)
        return np.exp(-self.interval_s / self.memory_s)

    def whiten(self, values: Array) -> Array:
        """Return values with the memory taken out, unit variance kept.

        Parameters
        ----------
        values : ndarray, shape (n,) or (n, columns)

        Returns
        -------
        ndarray, same shape
        """
        rho = self.correlation()
        scale = np.sqrt(1.0 - rho**2)
        if values.ndim == 2:
            rho, scale = rho[:, None], scale[:, None]
        return np.concatenate([values[:1], (values[1:] - rho * values[:-1]) / scale])

    def log_det(self) -> float:
        """Return the log determinant of the correlation matrix."""
        return float(np.log1p(-(self.correlation() ** 2)).sum())

    def independent(self) -> float:
        """Return how many independent samples the series is worth, at least 1."""
        rho = self.correlation()
        return max(1.0 + float(((1.0 - rho) / (1.0 + rho)).sum()), 1.0)


def estimate_memory(residual: Array, time_s: Array, unknowns: int) -> float:
    """Return the memory that explains the lag-one correlation of residuals.

    Parameters
    ----------
    residual : ndarray, shape (n,)
    time_s : ndarray, shape (n,)
        Strictly increasing, s.
    unknowns : int
        Fitted to the series; each takes some correlation out of the residuals.

    Returns
    -------
    float
        Memory, s; 0 when neighbours do not resemble each other.
    """
    count = len(residual)
    if count < 8:
        return 0.0
    variance = float(residual @ residual)
    if variance <= 0.0:
        return 0.0
    rho = float(residual[:-1] @ residual[1:]) / variance
    # A fit with p unknowns and a mean lowers rho by about (p + (p + 3) rho)/n
    # (Brockwell and Davis, small-sample bias of an autoregression with regressors)
    rho = (rho + unknowns / count) / (1.0 - (unknowns + 3.0) / count)
    rho = min(rho, 0.98)
    if rho <= 0.05:
        return 0.0
    return float(-np.median(np.diff(time_s)) / np.log(rho))
