"""Noise of the samples inside legs, and what it leaves in the mean of a leg.

Turbulence remembers: samples at 1 Hz resemble their neighbours, so sixty of
them are not sixty independent readings. The residual series of the legs of a
run are taken as first-order autoregressive noise plus white noise; memory and
variances are found by restricted likelihood, each leg with a mean of its own
(which removes the bias of autocorrelations taken about a leg's own mean). With
only a few memories to a leg the likelihood is flat, so a weak prior on the
memory is added, and the uncertainty of a mean is averaged over all memories
that the data allow.

Sources: Brockwell and Davis, Time Series (1991); D. A. Harville, JASA 72 (1977).

Weighing the ends of a leg more than its middle would gain 4 % at most and put the weight
next to the turns, so plain means are kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array

#: Memory expected of turbulence felt by a light aircraft, s, and the factor by
#: which it may well differ: length scales of 200 to 500 m at 50 m/s (common
#: practice, no published source).
EXPECTED_MEMORY_S: Final = 7.0
MEMORY_FACTOR: Final = 2.0

_MEMORIES_S: Final = np.geomspace(0.5, 40.0, 14)
_WHITE_SHARES: Final = np.array([0.0, 0.1, 0.3, 0.6, 0.9, 1.0])
#: Every memory with every white share, as two rows.
_PAIR_MEMORY_S, _PAIR_WHITE = (
    grid.ravel() for grid in np.meshgrid(_MEMORIES_S, _WHITE_SHARES, indexing="ij")
)
_MOST_BLOCKS: Final = 60


@dataclass(frozen=True, kw_only=True)
class SampleNoise:
    """Noise of one sample: what the data say of its memory and variance.

    Memory and white share are known only roughly from a few legs, so every
    pair that the data allow is kept with its weight.

    Attributes:
        weight (pairs,): Posterior weights, summing to 1.
        variance, white_share, memory_s (pairs,): Variance of a sample in the square of the unit of
            the series, the part of it without memory, and the memory of the rest.
        interval_s: Between the samples that `variance` belongs to, s.
    """

    weight: Array
    variance: Array
    white_share: Array
    memory_s: Array
    interval_s: float

    def mean_uncertainty(self, lasting_s: float) -> float:
        """Return the standard uncertainty of the mean over a leg.

        Args:
            lasting_s: Duration of the leg, s; above 0.

        Returns:
            In the unit of the series.
        """
        ratio = lasting_s / self.memory_s
        remembered = 2.0 / ratio * (1.0 + np.expm1(-ratio) / ratio)
        white = min(self.interval_s / lasting_s, 1.0)
        share = (1.0 - self.white_share) * remembered + self.white_share * white
        return float(np.sum(self.weight * np.sqrt(self.variance * share)))

    def mean_memory_s(self) -> float:
        """Return the memory averaged over what the data allow, s."""
        return float(np.sum(self.weight * self.memory_s))


def estimate_noise(series: Sequence[Array], interval_s: float) -> SampleNoise:
    """Estimate the noise from the residual series of the legs of a run.

    Args:
        series (n_i,): Residuals, each leg about any mean; without NaN.
        interval_s: Between samples, s.

    Returns:
        Zero variance when no leg has four samples.
    """
    width = max(round(1.0 / interval_s), 1)
    blocks = [piece for s in series for piece in _pieces(_block_means(s, width))]
    step = width * interval_s
    if all(np.ptp(b) == 0.0 for b in blocks):
        one = np.ones(1)
        return SampleNoise(
            weight=one,
            variance=0.0 * one,
            white_share=0.0 * one,
            memory_s=EXPECTED_MEMORY_S * one,
            interval_s=step,
        )
    score, variance = _restricted_scores(blocks, step)
    off = np.log(_PAIR_MEMORY_S / EXPECTED_MEMORY_S) / np.log(MEMORY_FACTOR)
    score = score + off**2
    weight = np.exp(-(score - score.min()) / 2.0)
    return SampleNoise(
        weight=weight / weight.sum(),
        variance=variance,
        white_share=_PAIR_WHITE,
        memory_s=_PAIR_MEMORY_S,
        interval_s=step,
    )


def _pieces(blocks: Array) -> list[Array]:
    """Cut a long series into pieces that are cheap to weigh, each with its own mean."""
    count = -(-len(blocks) // _MOST_BLOCKS)
    return [piece for piece in np.array_split(blocks, max(count, 1)) if len(piece) >= 4]


def _block_means(values: Array, width: int) -> Array:
    used = len(values) // width * width
    return np.asarray(values[:used].reshape(-1, width).mean(axis=1))


def _restricted_scores(blocks: Sequence[Array], step_s: float) -> tuple[Array, Array]:
    """Return -2 log restricted likelihood of each pair, variance profiled, and that variance."""
    log_det, squares, free = np.zeros(_PAIR_WHITE.size), np.zeros(_PAIR_WHITE.size), 0
    for block in blocks:
        whitener, one, weight, own_log_det = _whitening(len(block), round(step_s, 3))
        y = whitener @ block
        # squared one by one, since arrays round the last digit otherwise
        means = np.array([part**2 for part in _products(one, y).tolist()])
        squares += _products(y, y) - means / weight
        log_det += own_log_det + np.log(weight)
        free += len(block) - 1
    variance = np.maximum(squares / free, 1e-30)
    return log_det + free * np.log(variance), variance


def _products(a: Array, b: Array) -> Array:
    """Return the inner product of each row of one with that row of the other."""
    return np.asarray((a[:, None, :] @ b[:, :, None])[:, 0, 0])


@lru_cache(maxsize=32)
def _whitening(count: int, step_s: float) -> tuple[Array, Array, Array, Array]:
    """Return what whitens a series of samples under each pair of memory and white share.

    Legs of one length come again and again, so the matrices are kept.

    Returns:
        The inverse root of the correlation, its product with ones, the square of that, and the
        log determinant; one for each pair.
    """
    apart = np.abs(np.arange(count)[:, None] - np.arange(count)[None, :]) * step_s
    remembered = np.exp(-apart / _PAIR_MEMORY_S[:, None, None])
    correlation = (1.0 - _PAIR_WHITE)[:, None, None] * remembered
    correlation[:, np.arange(count), np.arange(count)] = 1.0 + 1e-9
    root = np.linalg.cholesky(correlation)
    whitener = np.linalg.inv(root)
    one = whitener.sum(axis=2)
    log_det = 2.0 * np.log(np.diagonal(root, axis1=1, axis2=2)).sum(axis=1)
    return whitener, one, _products(one, one), log_det
