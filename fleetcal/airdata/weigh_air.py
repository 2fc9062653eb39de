"""How strong noise, drift and wander of the wind are in one sortie: weighed on a grid.

Steady wind and kappa of each run are left free, so only what of the legs neither
moves is looked at. What is tried of the air is weighed by its likelihood of that
(restricted likelihood: D. A. Harville, JASA 72 (1977)) and a weak prior.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from scipy.special import chdtrc

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.sortie_air import (
    TEN_MINUTES_S,
    U_SHEAR_PER_S,
    AirPrior,
    RunAir,
    SortieAir,
    walk,
)
from fleetcal.units import MPS_PER_KT

_SHARES: Final = np.geomspace(0.01, 100.0, 32)
_LEAST_MPS: Final = 1e-4  # of leg scatter: nothing is known without any error
_MOST_NUMBERS: Final = 2_000_000


def weigh_air(
    runs: Sequence[RunAir],
    prior_weight: float,
    u_drift_mps2: float,
    prior: AirPrior | None = None,
) -> SortieAir:
    """Weigh what the runs of a sortie show of its air.

    Args:
        runs: At least one.
        prior_weight: How many legs the supposed leg scatter counts for.
        u_drift_mps2: Supposed steady drift of each component, m/s per s.
    """
    return _Sortie(
        runs=runs, prior_weight=prior_weight, u_drift_mps2=u_drift_mps2, prior=prior or AirPrior()
    ).weighed()


def chance_of_joining(
    runs: Sequence[RunAir],
    place: int,
    prior_weight: float,
    u_drift_mps2: float,
    prior: AirPrior | None = None,
) -> float:
    """Return the chance of a run being so far from what the others let expect.

    Args:
        runs: At least two.
        place: Of the run in question.

    Returns:
        By its wind and its spare legs together.
    """
    tried = prior or AirPrior()
    everything = _Sortie(
        runs=runs, prior_weight=prior_weight, u_drift_mps2=u_drift_mps2, prior=tried
    )
    others = [run for i, run in enumerate(runs) if i != place]
    rest = _Sortie(
        runs=others,
        prior_weight=prior_weight,
        u_drift_mps2=u_drift_mps2,
        prior=tried,
        middle_s=everything.middle_s,
    )
    free = everything.free - rest.free
    apart = np.maximum(everything.squares - rest.squares, 0.0)
    return float(rest.weighed().weight @ chdtrc(free, apart))


@dataclass(kw_only=True)
class _Sortie:
    runs: Sequence[RunAir]
    prior_weight: float
    u_drift_mps2: float
    prior: AirPrior
    middle_s: float | None = None
    free: int = field(init=False)
    squares: Array = field(init=False)

    def __post_init__(self) -> None:
        direction = np.concatenate([run.air_direction for run in self.runs], axis=1)
        time = np.concatenate([run.middle_s for run in self.runs])
        if self.middle_s is None:
            self.middle_s = float(time.mean())
        contrast = self._contrast(direction)
        self.free = contrast.shape[1]
        met = np.concatenate(
            [run.residual_mps + run.wind_mps @ run.air_direction for run in self.runs]
        )
        self._seen = contrast.T @ met
        together = direction.T @ direction
        height = self._of_legs([run.altitude_m for run in self.runs])
        height = height - height.mean()
        supposed = self._of_legs([max(run.supposed_mps, _LEAST_MPS) for run in self.runs])
        self._noise = self._in(contrast, np.diag(supposed**2))
        self._shear = self._in(contrast, together * np.outer(height, height) * U_SHEAR_PER_S**2)
        self._walked = self._in(contrast, together * walk(time - time.min()))
        self._drifted = contrast.T @ (direction * (time - self.middle_s)).T
        self._grid()

    def _of_legs(self, values: list[float]) -> Array:
        return np.repeat(values, [len(run.middle_s) for run in self.runs])

    def _contrast(self, direction: Array) -> Array:
        """Return what of the legs no steady wind and no kappa moves, shape (legs, free)."""
        columns = [direction[0], direction[1]]
        start = 0
        for run in self.runs:
            column = np.zeros(direction.shape[1])
            column[start : start + len(run.middle_s)] = run.airspeed_slope_mps
            columns.append(column / run.airspeed_slope_mps.mean())
            start += len(run.middle_s)
        basis, _ = np.linalg.qr(np.stack(columns, axis=1), mode="complete")
        return np.asarray(basis[:, len(columns) :])

    @staticmethod
    def _in(contrast: Array, covariance: Array) -> Array:
        return np.asarray(contrast.T @ covariance @ contrast)

    def _grid(self) -> None:
        share, wander, times = (
            part.ravel()
            for part in np.meshgrid(
                _SHARES, self.prior.wander_kt, self.prior.drift_times, indexing="ij"
            )
        )
        self._share = share
        self._wander = (wander * MPS_PER_KT) ** 2 / TEN_MINUTES_S
        self._drift_variance = (times * self.u_drift_mps2) ** 2
        half = self.prior_weight / 2.0
        log_prior = -half * np.log(share) - half / share
        log_prior += _half_cauchy(wander, self.prior.middle_wander_kt)
        log_prior += _half_cauchy(times, self.prior.middle_drift_times)
        self._log_prior = log_prior
        nodes = len(share)
        self.squares, self._log_det = np.zeros(nodes), np.zeros(nodes)
        self._pulled, self._known = np.zeros((nodes, 2)), np.zeros((nodes, 2, 2))
        size = max(_MOST_NUMBERS // max(self.free**2, 1), 1)
        for start in range(0, nodes if self.free else 0, size):
            self._weigh(slice(start, start + size))

    def _weigh(self, nodes: slice) -> None:
        """Fill in what the legs say of some nodes; as many as fit into little memory."""

        def each(values: Array) -> Array:
            return values[nodes, None, None]

        covariance = (
            each(self._share) * self._noise
            + each(self._wander) * self._walked
            + each(self._drift_variance) * (self._drifted @ self._drifted.T)
            + self._shear
        )
        inverse = np.linalg.inv(covariance)
        self._log_det[nodes] = np.linalg.slogdet(covariance)[1]
        self.squares[nodes] = np.einsum("i,kij,j->k", self._seen, inverse, self._seen)
        pull = np.einsum("ia,kij->kaj", self._drifted, inverse)
        self._pulled[nodes] = pull @ self._seen
        self._known[nodes] = pull @ self._drifted

    def weighed(self) -> SortieAir:
        """Return the nodes with their weights, and the drift averaged over them."""
        variance = self._drift_variance[:, None]
        log_weight = self._log_prior - 0.5 * (self._log_det + self.squares)
        weight = np.exp(log_weight - log_weight.max())
        weight = weight / weight.sum()
        mean = variance * self._pulled
        square = variance[:, :, None] * np.eye(2) - variance[:, :, None] ** 2 * self._known
        square += mean[:, :, None] * mean[:, None, :]
        return SortieAir(
            weight=weight,
            noise_share=self._share,
            wander=self._wander,
            drift_mps2=weight @ mean,
            drift_square=np.einsum("k,kab->ab", weight, square),
        )


def _half_cauchy(size: Array, middle: float) -> Array:
    """Return the log density of a half-Cauchy distribution, on a grid of doubled steps.

    Zero stands for all below the first step, which is as wide as that step.
    """
    positive = size[size > 0.0]
    width = np.maximum(size, positive.min() if positive.size else 1.0)
    return np.asarray(np.log(width) - np.log1p((size / middle) ** 2))
