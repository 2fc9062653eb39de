"""What the figure of one flight shows, as plain values in the trade's units."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class FlightHistory:
    """Readings against time, all of shape (n,); NaN where missing.

    Attributes
    ----------
    time_s : ndarray
        From the first sample.
    airspeed_kt, altitude_ft, track_deg, ground_speed_kt : ndarray
    """

    time_s: Floats
    airspeed_kt: Floats
    altitude_ft: Floats
    track_deg: Floats
    ground_speed_kt: Floats


@dataclass(frozen=True)
class PicturedLeg:
    """One leg.

    Attributes
    ----------
    run, leg : int
    start_s, stop_s : float or None
        None for a leg written by hand without time.
    east_kt, north_kt : float
        Of the mean ground vector.
    residual_kt : float or None
    left_out : bool
        By hand.
    """

    run: int
    leg: int
    start_s: float | None
    stop_s: float | None
    east_kt: float
    north_kt: float
    residual_kt: float | None
    left_out: bool = False


@dataclass(frozen=True)
class PicturedRun:
    """One solved run, or manoeuvre.

    Attributes
    ----------
    number : int
    vic_kt, tas_kt, wind_speed_kt, wind_from_deg : float
    kappa, u_kappa, dvpc_kt, U95_dvpc_kt : float
    residual_kt : float or None
    reason : str
        Why it is not accepted; empty when it is.
    legs : tuple of PicturedLeg
        None of a manoeuvre.
    samples_kt : ndarray, shape (2, n)
        Ground vectors, east and north, of a manoeuvre.
    start_s, stop_s : float or None
        Of a manoeuvre.
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


@dataclass(frozen=True)
class FlightPicture:
    """All that the figure of one flight shows.

    Attributes
    ----------
    title, facts : str
        Lines above it.
    airspeed_name : str
        Of the airspeed against time.
    history : FlightHistory or None
        None for legs written by hand.
    runs : tuple of PicturedRun
    other_legs : tuple of PicturedLeg
        Found but not solved.
    notes : tuple of str
        Lines below it.
    """

    title: str
    facts: str
    airspeed_name: str
    history: FlightHistory | None
    runs: tuple[PicturedRun, ...]
    other_legs: tuple[PicturedLeg, ...] = ()
    notes: tuple[str, ...] = ()
