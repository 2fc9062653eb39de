"""What the figure of one flight shows, as plain values in the trade's units."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class FlightHistory:
    """Readings against time, all of shape (n,); NaN where missing.

    Attributes:
        time_s: From the first sample.
    """

    time_s: Floats
    airspeed_kt: Floats
    altitude_ft: Floats
    track_deg: Floats
    ground_speed_kt: Floats


@dataclass(frozen=True, kw_only=True)
class PicturedLeg:
    """One leg.

    Attributes:
        start_s, stop_s: None for a leg written by hand without time.
        east_kt, north_kt: Of the mean ground vector.
        left_out: By hand.
    """

    run: int
    leg: int
    start_s: float | None
    stop_s: float | None
    east_kt: float
    north_kt: float
    residual_kt: float | None
    left_out: bool = False


@dataclass(frozen=True, kw_only=True)
class PicturedRun:
    """One solved run, or manoeuvre.

    Attributes:
        reason: Why it is not accepted; empty when it is.
        legs: None of a manoeuvre.
        samples_kt (2, n): Ground vectors, east and north, of a manoeuvre.
        start_s, stop_s: Of a manoeuvre.
    """

    number: int
    vic_kt: float
    tas_kt: float
    wind_speed_kt: float
    wind_from_deg: float
    kappa: float
    u_kappa: float
    dvpc_kt: float
    U95_dvpc_kt: float
    residual_kt: float | None
    reason: str
    legs: tuple[PicturedLeg, ...]
    samples_kt: Floats
    start_s: float | None = None
    stop_s: float | None = None


@dataclass(frozen=True, kw_only=True)
class FlightPicture:
    """All that the figure of one flight shows.

    Attributes:
        title, facts: Lines above it.
        airspeed_name: Of the airspeed against time.
        history: None for legs written by hand.
        other_legs: Found but not solved.
        notes: Lines below it.
    """

    title: str
    facts: str
    airspeed_name: str
    history: FlightHistory | None
    runs: tuple[PicturedRun, ...]
    other_legs: tuple[PicturedLeg, ...] = ()
    notes: tuple[str, ...] = ()
