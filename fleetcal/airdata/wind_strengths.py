"""How strong noise, wander and drift of the wind may be: what is tried, and its average.

What nobody knows before a flight is tried on a grid; each combination is weighed by how well
the flight agrees with it and by a weak prior, and what is answered is the average.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.moving_wind import Strength, Winds
from fleetcal.units import M_PER_FT, MPS_PER_KT

TEN_MINUTES_S: Final = 600.0
_LEAST_FREEDOM: Final = 8.0
#: A combination whose log weight is so far below the best carries nothing.
_LIKELY: Final = 14.0
#: The coarse grid has one in so many of each.
_EVERY: Final = 3
#: Growth of each wind component with height that would surprise nobody, per second: 5 kt in
#: 1,000 ft (common practice, no published source).
U_SHEAR_PER_S: Final = 5.0 * MPS_PER_KT / (1000.0 * M_PER_FT)


#: Combinations, each with the log of its prior.
Tried = Sequence[tuple[Strength, float]]


@dataclass(frozen=True, kw_only=True)
class AirPrior:
    """What is tried of the air, and how likely it is before a flight is looked at.

    Attributes:
        noise: Scatter of a piece in multiples of the supposed one.
        noise_weight: How many pieces the supposed scatter counts for.
        wander_kt: Standard deviation of what each wind component wanders in ten minutes.
        middle_wander_kt: Half-Cauchy scale of it.
        drift_mps2: Standard deviation of its steady change that is supposed, m/s per s.
        drift_times: Multiples of that; half-Cauchy with scale 1.
    """

    noise: tuple[float, ...] = tuple(np.geomspace(0.1, 8.0, 14).tolist())
    noise_weight: float = 3.0
    wander_kt: tuple[float, ...] = tuple(np.geomspace(0.1, 14.0, 12).tolist())
    middle_wander_kt: float = 2.0
    drift_mps2: float = 1.0 * MPS_PER_KT / TEN_MINUTES_S
    drift_times: tuple[float, ...] = (1.0, 3.0, 9.0)

    def tried(self) -> Tried:
        """Return every combination with the log of its prior."""
        return _every(self)

    def coarse(self) -> Tried:
        """Return few combinations, to begin with."""
        middle = self.drift_times[len(self.drift_times) // 2]
        return self.combined(self.noise[::_EVERY], self.wander_kt[::_EVERY], (middle,))

    def middle(self) -> Strength:
        """Return a combination that nothing speaks against."""
        return self._strength(1.0, self.middle_wander_kt, self.drift_times[0])

    def combined(
        self, noise: Sequence[float], wander_kt: Sequence[float], drift_times: Sequence[float]
    ) -> Tried:
        """Return every combination of these with the log of its prior."""
        return tuple(
            (self._strength(one, wander, times), self._log_prior(one, wander, times))
            for one in noise
            for wander in wander_kt
            for times in drift_times
        )

    def _strength(self, noise: float, wander: float, times: float) -> Strength:
        return Strength(
            noise=noise,
            walk_mps2_per_s=(wander * MPS_PER_KT) ** 2 / TEN_MINUTES_S,
            drift_mps2=times * self.drift_mps2,
            shear_per_s=U_SHEAR_PER_S,
        )

    def _log_prior(self, noise: float, wander: float, times: float) -> float:
        half, share = self.noise_weight / 2.0, noise**2
        found = -half * np.log(share) - half / share
        found += np.log(wander) - np.log1p((wander / self.middle_wander_kt) ** 2)
        return float(found + np.log(times) - np.log1p(times**2))


@lru_cache(maxsize=16)
def _every(prior: AirPrior) -> Tried:
    """Return every combination, which the flights of a folder have in common."""
    return prior.combined(prior.noise, prior.wander_kt, prior.drift_times)


#: A wind that hardly moves.
STILL: Final = AirPrior(
    wander_kt=(0.1,),
    middle_wander_kt=0.1,
    drift_mps2=0.1 * MPS_PER_KT / TEN_MINUTES_S,
    drift_times=(1.0,),
)


@dataclass(frozen=True, kw_only=True)
class Averaged:
    """The answer averaged over all strengths; arrays as in `Fit`.

    Attributes:
        freedom (groups,): Degrees of freedom of each variance: of the scaled inverse chi-square
            that has the mean and variance of what the combinations say of one over it, but at
            least eight. The variance is the mean over the combinations, so what is not known of
            the scatter is in it already; Student's t with fewer would count that twice.
        noise: Scatter of a piece in multiples of the supposed one.
        wander_kt: What a wind component wanders in ten minutes, kt.
    """

    kappa: Array
    covariance: Array
    freedom: Array
    gain: Array
    wind: Array
    noise: float
    wander_kt: float


def likeliest(winds: Winds, tried: Tried) -> Strength:
    """Return the combination that flight and prior agree with best."""
    scores = winds.scores([strength for strength, _ in tried])
    return tried[int(np.argmax(scores + np.array([prior for _, prior in tried])))][0]


def averaged(winds: Winds, tried: Tried) -> Averaged:
    """Return the answer averaged over combinations, each with the log of its prior."""
    strengths, share = likely(winds, tried)
    fits = winds.fits(strengths)

    def mean(values: Array) -> Array:
        return np.asarray(np.tensordot(share, values, axes=1))

    kappa = mean(fits.kappa)
    off = fits.kappa - kappa
    variance = np.diagonal(fits.covariance, axis1=1, axis2=2)
    precision = share @ (1.0 / variance)
    spread = share @ (1.0 / variance - precision) ** 2
    wander = np.array([s.walk_mps2_per_s for s in strengths])
    return Averaged(
        kappa=kappa,
        covariance=mean(fits.covariance) + (share * off.T) @ off,
        freedom=np.maximum(
            2.0 * precision**2 / np.maximum(spread, 1e-12 * precision**2), _LEAST_FREEDOM
        ),
        gain=mean(fits.gain),
        wind=mean(fits.wind),
        noise=float(np.sqrt(share @ np.array([s.noise**2 for s in strengths]))),
        wander_kt=_median(np.sqrt(wander * TEN_MINUTES_S), share) / MPS_PER_KT,
    )


def likely(winds: Winds, tried: Tried) -> tuple[list[Strength], Array]:
    """Return the combinations that carry any weight, and the weight of each, summing to 1.

    Those around likely ones are looked at, from a coarse grid on, as long as any is likely: what
    lies further off carries less still.
    """
    ways = _Ways(winds, tried)
    ways.look({way for way in ways.at if way[0] % _EVERY == 0 and way[1] % _EVERY == 0})
    while fresh := ways.around_likely() - ways.found.keys():
        ways.look(fresh)
    scored = [one for found in ways.found.values() for one in found]
    score = np.array([own for _, own in scored])
    weight = np.exp(score - score.max())
    used = np.flatnonzero(weight > np.exp(-_LIKELY))
    return [scored[i][0] for i in used], weight[used] / weight[used].sum()


class _Ways:
    """The ways to combine a noise with a walk, by their places on the grid."""

    def __init__(self, winds: Winds, tried: Tried) -> None:
        self._winds = winds
        noises = _places(strength.noise for strength, _ in tried)
        walks = _places(strength.walk_mps2_per_s for strength, _ in tried)
        self.at: dict[tuple[int, int], list[tuple[Strength, float]]] = {}
        for one in tried:
            way = noises[one[0].noise], walks[one[0].walk_mps2_per_s]
            self.at.setdefault(way, []).append(one)
        self.found: dict[tuple[int, int], list[tuple[Strength, float]]] = {}

    def look(self, ways: set[tuple[int, int]]) -> None:
        tried = [(way, one) for way in sorted(ways) for one in self.at[way]]
        scores = self._winds.scores([strength for _, (strength, _) in tried]).tolist()
        for (way, (strength, prior)), score in zip(tried, scores, strict=True):
            self.found.setdefault(way, []).append((strength, score + prior))

    def around_likely(self) -> set[tuple[int, int]]:
        score = {way: max(own for _, own in found) for way, found in self.found.items()}
        least = max(score.values()) - _LIKELY
        return {
            (noise + up, walk + over)
            for (noise, walk), own in score.items()
            if own > least
            for up in (-1, 0, 1)
            for over in (-1, 0, 1)
            if (noise + up, walk + over) in self.at
        }


def _places(values: Iterable[float]) -> dict[float, int]:
    """Return the place of each value among them in order."""
    return {value: place for place, value in enumerate(sorted(set(values)))}


def _median(values: Array, share: Array) -> float:
    size, place = np.unique(values, return_inverse=True)
    below = np.cumsum(np.bincount(place, share))
    return float(np.interp(0.5, below, size))
