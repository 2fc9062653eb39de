"""What the runs of one sortie, taken together, show of a wind that changes.

Each run is solved for one wind of its own. How far that misleads it, its own
residual cannot say: a box flown N, E, S, W in a steady drift (a_e, a_n) is off by
a_e + a_n and its spare leg shows a_e - a_n. But the winds of the runs of a sortie
show the drift, and what they and all spare legs differ by beyond it shows how the
wind wanders. Legs are taken as

    |g - w(t)| - Vt = noise,  w(t) = steady + drift * t + random walk + shear * height,

linear about each run's own solution. Steady wind and kappa of each run are left
free; strength of the noise, of the drift and of the walk are weighed on a grid by
restricted likelihood (D. A. Harville, JASA 72 (1977)) and a weak prior. The runs'
own solutions stay as they are; only what they are off by is told.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.units import M_PER_FT, MPS_PER_KT

TEN_MINUTES_S: Final = 600.0
#: Growth of each wind component with height that would surprise nobody, per second: 5 kt in
#: 1,000 ft (common practice, no published source).
U_SHEAR_PER_S: Final = 5.0 * MPS_PER_KT / (1000.0 * M_PER_FT)


@dataclass(frozen=True)
class AirPrior:
    """What is tried of the air, before a sortie is looked at.

    Attributes:
        wander_kt: Standard deviation of what each wind component wanders in ten minutes.
        middle_wander_kt: Half-Cauchy scale of it.
        drift_times: Steady drift in multiples of the supposed one.
        middle_drift_times: Half-Cauchy scale of it.
    """

    wander_kt: tuple[float, ...] = (0.0, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0)
    middle_wander_kt: float = 1.0
    drift_times: tuple[float, ...] = (1.0, 2.0, 4.0, 8.0)
    middle_drift_times: float = 1.0


@dataclass(frozen=True, kw_only=True)
class RunAir:
    """One solved run, as far as the air of its sortie is concerned.

    Attributes:
        air_direction (2, legs): Unit vectors (east, north) of the air vector.
        airspeed_slope_mps (legs,): True airspeed by kappa.
        gain (legs,): kappa moves by -gain @ change when the residuals change.
        residual_mps: Shape (legs,).
        wind_mps (2,): As solved.
        middle_s (legs,): Of each leg, on one clock for the sortie.
        supposed_mps: Leg scatter to expect.
    """

    air_direction: Array
    airspeed_slope_mps: Array
    gain: Array
    residual_mps: Array
    wind_mps: Array
    middle_s: Array
    altitude_m: float
    supposed_mps: float


@dataclass(frozen=True, kw_only=True)
class SortieAir:
    """The air of a sortie: every combination tried, with its weight.

    Attributes:
        weight (nodes,): Summing to 1.
        noise_share (nodes,): Variance of a leg over what was supposed.
        wander (nodes,): Variance of a wind component that comes each second, (m/s)^2/s.
        drift_mps2 (2,): Expected steady drift (east, north), m/s per s.
        drift_square (2, 2): Expected square of the drift, of its expected value and of what is
            open.
    """

    weight: Array
    noise_share: Array
    wander: Array
    drift_mps2: Array
    drift_square: Array

    @property
    def wander_kt(self) -> float:
        """What a wind component wanders in ten minutes, as likely more as less, kt."""
        size, place = np.unique(self.wander, return_inverse=True)
        below = np.cumsum(np.bincount(place, self.weight))
        middle = np.interp(0.5, below, np.sqrt(size * TEN_MINUTES_S))
        return float(middle) / MPS_PER_KT

    @property
    def drift_kt(self) -> float:
        """Size of the expected drift in ten minutes, kt."""
        return float(np.hypot(*self.drift_mps2)) * TEN_MINUTES_S / MPS_PER_KT

    def scatter_of(self, run: RunAir) -> tuple[float, float]:
        """Return what legs and wandering wind leave in kappa of a run, and its degrees of freedom.

        Returns:
            The scaled inverse chi-square that has the mean and the variance of what the nodes say
            of one over the variance.
        """
        noise = float(run.gain @ run.gain) * run.supposed_mps**2
        along = walk(run.middle_s - run.middle_s.min()) * (run.air_direction.T @ run.air_direction)
        variance = self.noise_share * noise + self.wander * float(run.gain @ along @ run.gain)
        if not np.any(variance):
            return 0.0, np.inf
        variance = np.maximum(variance, 1e-12 * variance.max())
        precision = float(self.weight @ (1.0 / variance))
        spread = float(self.weight @ (1.0 / variance - precision) ** 2)
        freedom = 2.0 * precision**2 / max(spread, 1e-12 * precision**2)
        return float(np.sqrt(1.0 / precision)), freedom

    def drift_of(self, run: RunAir) -> tuple[float, float]:
        """Return what the drift leaves in kappa of a run: of two errors common to the sortie.

        Returns:
            Signed; the first is the drift to the east and what goes with it to the north, the
            second what is left to the north.
        """
        since = run.middle_s - run.middle_s.mean()
        effect = (run.air_direction * (run.gain * since)).sum(axis=1)
        (east, both), (_, north) = self.drift_square
        first = float(np.sqrt(east))
        across = float(both) / first if first > 0.0 else 0.0
        second = float(np.sqrt(max(float(north) - across**2, 0.0)))
        return float(effect @ np.array([first, across])), float(effect[1]) * second


def walk(time_s: Array) -> Array:
    """Return the covariance of a random walk of unit strength, begun at time 0.

    Args:
        time_s (n,): Not negative, s.

    Returns:
        Shape (n, n).
    """
    return np.minimum(time_s[:, None], time_s[None, :])
