"""How strong noise, wander and drift of the wind may be: what is tried, and its average.

What nobody knows before a flight is tried on a grid; each combination is weighed by how well
the flight agrees with it and by a weak prior, and what is answered is the average.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.moving_wind import Strength, Winds
from fleetcal.units import M_PER_FT, MPS_PER_KT

TEN_MINUTES_S: Final = 600.0
_LEAST_FREEDOM: Final = 8.0
#: A combination whose log weight is so far below the best carries nothing.
_LIKELY: Final = 14.0
_EVERY: Final = 3
#: Growth of each wind component with height that would surprise nobody, per second: 5 kt in
#: 1,000 ft (common practice, no published source).
U_SHEAR_PER_S: Final = 5.0 * MPS_PER_KT / (1000.0 * M_PER_FT)


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

    def tried(self) -> list[tuple[Strength, float]]:
        """Return every combination with the log of its prior."""
        return [
            (self._strength(noise, wander, times), self._log_prior(noise, wander, times))
            for noise in self.noise
            for wander in self.wander_kt
            for times in self.drift_times
        ]

    def coarse(self) -> list[tuple[Strength, float]]:
        """Return few combinations, to begin with."""
        times = self.drift_times[len(self.drift_times) // 2]
        return [
            (self._strength(noise, wander, times), self._log_prior(noise, wander, times))
            for noise in self.noise[::3]
            for wander in self.wander_kt[::3]
        ]

    def middle(self) -> Strength:
        """Return a combination that nothing speaks against."""
        return self._strength(1.0, self.middle_wander_kt, self.drift_times[0])

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


def likeliest(winds: Winds, tried: Sequence[tuple[Strength, float]]) -> Strength:
    """Return the combination that flight and prior agree with best."""
    scores = [winds.score(strength) + prior for strength, prior in tried]
    return tried[int(np.argmax(scores))][0]


def averaged(winds: Winds, tried: Sequence[tuple[Strength, float]]) -> Averaged:
    """Return the answer averaged over combinations, each with the log of its prior."""
    strengths, share = likely(winds, tried)
    fits = [winds.fit(strength) for strength in strengths]

    def mean(name: str) -> Array:
        stacked = np.array([getattr(fit, name) for fit in fits])
        return np.asarray(np.tensordot(share, stacked, axes=1))

    kappa = mean("kappa")
    off = np.array([fit.kappa for fit in fits]) - kappa
    variance = np.array([np.diag(fit.covariance) for fit in fits])
    precision = share @ (1.0 / variance)
    spread = share @ (1.0 / variance - precision) ** 2
    wander = np.array([s.walk_mps2_per_s for s in strengths])
    return Averaged(
        kappa=kappa,
        covariance=mean("covariance") + np.einsum("k,ki,kj->ij", share, off, off),
        freedom=np.maximum(
            2.0 * precision**2 / np.maximum(spread, 1e-12 * precision**2), _LEAST_FREEDOM
        ),
        gain=mean("gain"),
        wind=mean("wind"),
        noise=float(np.sqrt(share @ np.array([s.noise**2 for s in strengths]))),
        wander_kt=_median(np.sqrt(wander * TEN_MINUTES_S), share) / MPS_PER_KT,
    )


def likely(winds: Winds, tried: Sequence[tuple[Strength, float]]) -> tuple[list[Strength], Array]:
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

    def __init__(self, winds: Winds, tried: Sequence[tuple[Strength, float]]) -> None:
        self._winds = winds
        noises = sorted({strength.noise for strength, _ in tried})
        walks = sorted({strength.walk_mps2_per_s for strength, _ in tried})
        self.at: dict[tuple[int, int], list[tuple[Strength, float]]] = {}
        for one in tried:
            way = noises.index(one[0].noise), walks.index(one[0].walk_mps2_per_s)
            self.at.setdefault(way, []).append(one)
        self.found: dict[tuple[int, int], list[tuple[Strength, float]]] = {}

    def look(self, ways: set[tuple[int, int]]) -> None:
        for way in sorted(ways):
            self.found[way] = [
                (strength, self._winds.score(strength) + prior) for strength, prior in self.at[way]
            ]

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


def _median(values: Array, share: Array) -> float:
    size, place = np.unique(values, return_inverse=True)
    below = np.cumsum(np.bincount(place, share))
    return float(np.interp(0.5, below, size))
