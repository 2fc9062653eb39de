"""Noise of the samples of a leg: memory, and what rounding leaves behind.

Samples at 1 Hz in turbulence remember their neighbours, so sixty of them are
not sixty independent readings. Sources: G. E. P. Box, G. M. Jenkins, Time
Series Analysis (variance of the mean of a correlated series); B. Widrow,
I. Kollar, Quantization Noise (2008), on the bias left in the mean of a rounded
signal that moves.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fleetcal.airdata.atmosphere import Array


def correlation_samples(series: Sequence[Array]) -> float:
    """Return how many neighbouring samples share one independent reading.

    Parameters
    ----------
    series : sequence of ndarray, each shape (n_i,)
        Residual series of the legs of a run, at one sampling rate. NaN is
        skipped.

    Returns
    -------
    float
        1 + 2 * sum of the autocorrelation up to its first value that is not
        positive, pooled over the legs; at least 1.

    Notes
    -----
    Removing each leg's own mean lowers every estimated autocovariance by about
    the variance of that mean; one pass of correction puts it back.
    """
    centred = [np.nan_to_num(s - np.nanmean(s)) for s in series if np.isfinite(s).sum() >= 4]
    if not centred:
        return 1.0
    lags = min(60, min(len(c) for c in centred) // 2)
    total = sum(len(c) for c in centred)
    covariance = np.array(
        [sum(float(c[: len(c) - k] @ c[k:]) for c in centred) / total for k in range(lags + 1)]
    )
    if covariance[0] <= 0.0:
        return 1.0
    memory = _positive_sum(covariance / covariance[0])
    mean_length = total / len(centred)
    lost = min(memory / mean_length, 0.5)
    corrected = (covariance / covariance[0] + lost) / (1.0 + lost)
    return min(_positive_sum(corrected), mean_length / 2.0)


def _positive_sum(correlation: Array) -> float:
    memory = 1.0
    for value in correlation[1:]:
        if value <= 0.05:  # below the noise of an estimate from a few hundred samples
            break
        memory += 2.0 * float(value)
    return memory


def mean_uncertainty(series: Array, memory: float) -> float:
    """Return the standard uncertainty of the mean of a correlated series.

    Parameters
    ----------
    series : ndarray, shape (n,)
        Samples; NaN is skipped.
    memory : float
        From `correlation_samples`.

    Returns
    -------
    float
        In the unit of the series; 0 for fewer than two samples.
    """
    values = series[np.isfinite(series)]
    if len(values) < 2:
        return 0.0
    independent = max(len(values) / memory, 1.5)
    variance = float(np.var(values)) / (1.0 - 1.0 / independent)
    return float(np.sqrt(variance / independent))


def rounding_uncertainty(step: float, movement: float) -> float:
    """Return what rounding leaves in the mean of a signal that moves.

    Parameters
    ----------
    step : float
        Smallest step of the logged quantity; 0 if not rounded.
    movement : float
        Standard deviation of the signal within the leg, same unit.

    Returns
    -------
    float
        step/sqrt(12) for a signal at rest; less when the signal crosses steps
        (first harmonic of the rounding error of a Gaussian signal).
    """
    if step <= 0.0:
        return 0.0
    at_rest = step / np.sqrt(12.0)
    moving = step / (np.pi * np.sqrt(2.0)) * np.exp(-2.0 * (np.pi * movement / step) ** 2)
    return float(min(at_rest, moving)) if movement > 0.0 else float(at_rest)
