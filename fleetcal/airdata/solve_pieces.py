"""Wind and kappas of a flight from its pieces."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.flight_pieces import Pieces
from fleetcal.airdata.looked_pieces import Looked, look, supposed_scatter
from fleetcal.airdata.moving_wind import Winds
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.reading_slopes import reading_slopes
from fleetcal.airdata.shared_parts import shared_parts
from fleetcal.airdata.wind_strengths import TEN_MINUTES_S, AirPrior, averaged, likeliest
from fleetcal.units import MPS_PER_KT

_ROUNDS: Final = 20
_CHOOSE_AT: Final = 2
_TOLERANCE: Final = 1e-10
#: A piece further off than so many standard deviations is trusted less.
_OFF: Final = 2.5


@dataclass(frozen=True, kw_only=True)
class FlightWind:
    """A flight solved for its moving wind and the kappa of each group.

    Attributes:
        kappa (groups,), covariance (groups, groups): Static-pressure error coefficients; what wind
            and gusts leave in them. Groups of one flight err together.
        freedom (groups,): Degrees of freedom of each variance.
        gain (groups, n): kappa moves by gain @ change when the true airspeeds of the pieces change,
            per m/s.
        wind_mps (n, 2): East and north at each piece.
        looked: The pieces at the solution.
        supposed_mps, scatter_mps (n,): Standard deviation of the noise of each piece, as it was
            supposed and as it was found, m/s.
        wander_kt: What a wind component wanders in ten minutes, kt.
        drift_kt: By how much the wind changed steadily in ten minutes, kt.
    """

    pieces: Pieces
    kappa: Array
    covariance: Array
    freedom: Array
    gain: Array
    wind_mps: Array
    looked: Looked
    supposed_mps: Array
    scatter_mps: Array
    wander_kt: float
    drift_kt: float
    converged: bool

    @cached_property
    def readings(self) -> Readings:
        """The mean readings of each piece."""
        return self.pieces.mean_readings()

    @cached_property
    def slopes(self) -> dict[str, Array]:
        """How the true airspeed of each piece answers to each reading."""
        return reading_slopes(self.readings, self.kappa[self.pieces.group])

    @cached_property
    def parts(self) -> tuple[Array, Array]:
        """What each group errs by alone, and with the others: see `shared_parts`."""
        return shared_parts(self.covariance)


def solve_pieces(
    pieces: Pieces, prior: AirPrior, least_mps: float = 0.05, scatter_mps: float | None = None
) -> FlightWind:
    """Solve a flight.

    Args:
        prior: What is tried of the air.
        least_mps: What errors of the ground speed leave in a piece at least, m/s.
        scatter_mps: Scatter of a leg found in earlier flights; taken where this one shows none.

    Returns:
        Not `converged`, with NaN, where a reading is missing or a kappa leaves no pressure. Whether
        the tracks determine kappa at all is said by its covariance, or `airspeed_dilution`.

    Raises:
        OutOfRangeError: If a reading is outside the range of the pitot-static relations.
    """
    wind, kappa = _start(pieces)
    strength, converged = prior.middle(), False
    supposed = np.ones(len(pieces.time_s))
    counted: Array | None = None  # once chosen it stays: a sample on the limit would never settle
    for turn in range(_ROUNDS):
        looked = look(pieces, wind, kappa, counted)
        if not np.all(np.isfinite(looked.over_mps)):
            return _unsolved(pieces, looked)
        if turn <= _CHOOSE_AT:
            supposed = supposed_scatter(pieces, looked, least_mps)
            if scatter_mps is not None and shows_no_scatter(pieces):
                supposed = np.full_like(supposed, scatter_mps)
        winds = Winds(looked.linear(pieces, wind, kappa, supposed))
        if turn == _CHOOSE_AT:
            counted = looked.counted
            strength = likeliest(winds, prior.coarse())
        fit = winds.fit(strength)
        if turn == _CHOOSE_AT:
            supposed = supposed * _less_trusted(looked.over_mps / (strength.noise * supposed))
        moved = float(np.abs(fit.kappa - kappa).max())
        wind, kappa = fit.wind, np.clip(fit.kappa, -0.95, 5.0)
        converged = moved < _TOLERANCE and turn > _CHOOSE_AT
        if converged:
            break
    looked = look(pieces, wind, kappa, counted)
    found = averaged(Winds(looked.linear(pieces, wind, kappa, supposed)), prior.tried())
    return FlightWind(
        pieces=pieces,
        kappa=found.kappa,
        covariance=found.covariance,
        freedom=found.freedom,
        gain=-found.gain[:, : len(pieces.time_s)],
        wind_mps=found.wind,
        looked=look(pieces, found.wind, found.kappa, counted),
        supposed_mps=supposed,
        scatter_mps=found.noise * supposed,
        wander_kt=found.wander_kt,
        drift_kt=_drift_kt(pieces.time_s, found.wind),
        converged=converged,
    )


def _unsolved(pieces: Pieces, looked: Looked) -> FlightWind:
    count, groups = len(pieces.time_s), pieces.groups
    each = np.full(count, np.nan)
    return FlightWind(
        pieces=pieces,
        kappa=np.full(groups, np.nan),
        covariance=np.full((groups, groups), np.nan),
        freedom=np.full(groups, np.nan),
        gain=np.full((groups, count), np.nan),
        wind_mps=np.full((count, 2), np.nan),
        looked=looked,
        supposed_mps=each,
        scatter_mps=each,
        wander_kt=np.nan,
        drift_kt=np.nan,
        converged=False,
    )


def _less_trusted(off: Array) -> Array:
    """Return by how much a piece is trusted less that is many standard deviations off.

    As if its noise had heavier tails (P. J. Huber, Robust Statistics, 1981).
    """
    return np.maximum(np.abs(off) / _OFF, 1.0)


def shows_no_scatter(pieces: Pieces) -> bool:
    """Return whether wind and kappas meet every piece, whatever it reads."""
    return len(pieces.time_s) <= pieces.groups + 2


def _start(pieces: Pieces) -> tuple[Array, Array]:
    """Return one wind for all pieces, and kappas of 0.

    Of |g - w|^2 = Vt^2 the part that is linear in w and |w|^2 is solved, which takes pieces of
    different airspeeds.
    """
    east, north = pieces.mean(pieces.east_mps), pieces.mean(pieces.north_mps)
    speed = pieces.mean(pieces.readings.true_airspeed(0.0)[0])
    columns = np.column_stack([2.0 * east, 2.0 * north, -np.ones_like(east)])
    found, _, rank, _ = np.linalg.lstsq(columns, east**2 + north**2 - speed**2, rcond=1e-6)
    wind = found[:2] if rank == 3 and np.hypot(*found[:2]) < 1.2 * speed.mean() else np.zeros(2)
    return np.tile(wind, (len(east), 1)), np.zeros(pieces.groups)


def _drift_kt(time_s: Array, wind: Array) -> float:
    """Return how much a straight line through the winds changes in ten minutes, kt."""
    since = time_s - time_s.mean()
    spread = float(since @ since)
    if spread <= 0.0:
        return 0.0
    rate = since @ wind / spread
    return float(np.hypot(*rate)) * TEN_MINUTES_S / MPS_PER_KT
