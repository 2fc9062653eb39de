"""What shares one kappa: a run of legs, a manoeuvre, or all stretches at one airspeed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fleetcal.airdata.flight_pieces import Stretch, cut
from fleetcal.airdata.ground_vectors import largest_track_gap
from fleetcal.airdata.run_quality import RunFigures, airspeed_dilution, refusal
from fleetcal.airdata.solve_pieces import FlightWind, solve_pieces
from fleetcal.airdata.wind_strengths import STILL
from fleetcal.records import GPS_LEGS
from fleetcal.services.flights.flown_leg import FlownLeg


@dataclass(frozen=True, kw_only=True)
class Run:
    """What is flown at one airspeed and may be solved.

    Attributes:
        number: Within the flight.
        legs: In the order flown; the one part of a manoeuvre, the stretches of an ordinary flight
            at one airspeed.
        leg_numbers: One for each leg.
        technique: What its point is measured by.
        turns: What was flown between the legs at their airspeed.
    """

    number: int
    legs: tuple[FlownLeg, ...]
    leg_numbers: tuple[int, ...]
    turns: tuple[FlownLeg, ...] = ()
    technique: str = GPS_LEGS

    def stretches(self, group: int) -> list[Stretch]:
        """Return its legs, then its turns, as stretches of a flight."""
        return [leg.stretch(group) for leg in (*self.legs, *self.turns)]

    @property
    def has_legs(self) -> bool:
        """Whether it is a run of legs."""
        return self.technique == GPS_LEGS

    @property
    def is_timed(self) -> bool:
        """Whether the times of its legs are known."""
        return all(leg.start_s is not None for leg in self.legs)

    @property
    def started_s(self) -> float | None:
        """From the first sample of the log; None where no times were written."""
        return min(leg.start_s or 0.0 for leg in self.legs) if self.is_timed else None

    @property
    def stopped_s(self) -> float | None:
        """From the first sample of the log; None where no times were written."""
        return max(leg.stop_s or 0.0 for leg in self.legs) if self.is_timed else None

    @property
    def spare(self) -> int:
        """Legs beyond the three that wind and airspeed need."""
        return len(self.legs) - 3

    @cached_property
    def alone(self) -> FlightWind:
        """It by itself, in a wind that hardly moves."""
        return solve_pieces(cut(self.stretches(0)), STILL)

    def altitude_m(self) -> float:
        """Return the mean pressure altitude of its legs, m."""
        return float(np.mean([leg.altitude_m.mean() for leg in self.legs]))

    def track_gap_rad(self) -> float:
        """Return the largest angle between neighbouring tracks, rad."""
        tracks = [leg.track_rad for leg in self.legs]
        if not self.has_legs:
            tracks = [t for leg in self.legs for t in np.arctan2(leg.east_mps, leg.north_mps)]
        return largest_track_gap(np.array(tracks))

    def refusal(self) -> str:
        """Return why it must not count, or an empty string.

        Raises:
            OutOfRangeError: If a reading is outside the range of the pitot-static relations.
        """
        alone, count = self.alone, len(self.legs)
        parts = count if self.has_legs else len(alone.pieces.time_s)
        return refusal(
            RunFigures(
                legs=count if self.has_legs else None,
                largest_gap_rad=self.track_gap_rad(),
                dilution=airspeed_dilution(alone.looked.direction, alone.looked.slope_mps, parts),
                kappa=float(alone.kappa[0]),
                wind_mps=float(np.hypot(*alone.wind_mps.mean(axis=0))),
                true_airspeed_mps=float(alone.looked.speed_mps.mean()),
                converged=alone.converged,
            )
        )


def leg_residuals(flight: FlightWind, first: int, count: int) -> list[float]:
    """Return the mean |g - w| - Vt of stretches one after the other, m/s.

    Args:
        first: Place of the first stretch among those of the flight.
    """
    pieces = flight.pieces
    found = []
    for place in range(first, first + count):
        own = pieces.stretch == place
        found.append(float(np.average(flight.looked.over_mps[own], weights=pieces.samples[own])))
    return found


def spare_residual(residuals: Sequence[float]) -> float | None:
    """Return the root of the mean square a spare leg, m/s; None where there is none."""
    spare = len(residuals) - 3
    return float(np.sqrt(np.sum(np.square(residuals)) / spare)) if spare > 0 else None
