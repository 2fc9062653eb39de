"""Whether a run or manoeuvre may count: refusals with the reason and the figure.

A good residual proves nothing: an airspeed in the wrong unit solves with a perfect residual.
Here a kappa is refused only that no port can have at all; one that is merely large is held
against the rest of the flight and what is known of the type, where that is at hand.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.records import kappa_can_be

#: Largest believable angle between neighbouring tracks, rad.
WIDEST_GAP_RAD: Final = float(np.radians(200.0))

#: How many times the error of one leg may show in the true airspeed; three tracks
#: spread evenly give 0.58, a box of four 0.5.
LARGEST_DILUTION: Final = 1.5


@dataclass(frozen=True, kw_only=True)
class RunFigures:
    """What decides whether a run counts.

    Attributes:
        legs: None for a manoeuvre.
        largest_gap_rad: Largest angle between neighbouring tracks, rad.
        dilution: Standard uncertainty of true airspeed over that of one leg.
        wind_mps, true_airspeed_mps: m/s.
    """

    legs: int | None
    largest_gap_rad: float
    dilution: float
    kappa: float
    wind_mps: float
    true_airspeed_mps: float
    converged: bool


def airspeed_dilution(direction: Array, slope_mps: Array, parts: int) -> float:
    """Return how an independent error of one part shows in the true airspeed.

    Args:
        direction (pieces, 2): Unit vectors along the air vectors.
        slope_mps (pieces,): True airspeed by kappa.
        parts: Legs that the pieces are of, or pieces of a manoeuvre.

    Returns:
        Ratio without unit; infinite where the directions do not determine it.
    """
    size = float(np.mean(slope_mps))
    columns = np.column_stack([direction, slope_mps / size])
    normal = columns.T @ columns
    if not np.all(np.isfinite(normal)) or np.linalg.cond(normal) > 1e10:
        return float(np.inf)
    return float(np.sqrt(np.linalg.inv(normal)[2, 2] * len(columns) / parts))


def refusal(figures: RunFigures) -> str:
    """Return why a run must not count, or an empty string.

    Returns:
        One sentence with the figure that decided.
    """
    gap = np.degrees(figures.largest_gap_rad)
    if figures.legs is not None and figures.legs < 3:
        return f"only {figures.legs} legs: wind and airspeed need three tracks"
    if figures.largest_gap_rad > WIDEST_GAP_RAD:
        return f"tracks within a narrow fan: {gap:.0f} deg without a track, at most 200 allowed"
    if not figures.converged or not np.isfinite(figures.dilution):
        return "the ground vectors do not determine wind and airspeed"
    if figures.dilution > LARGEST_DILUTION:
        return (
            f"the tracks determine airspeed poorly: an error of one leg counts "
            f"{figures.dilution:.1f} times, at most {LARGEST_DILUTION} allowed"
        )
    if figures.wind_mps >= figures.true_airspeed_mps:
        return "the solved wind is stronger than the airspeed"
    if not kappa_can_be(figures.kappa):
        scale = np.sqrt(1.0 + max(figures.kappa, -0.99))
        return (
            f"airspeeds would be wrong by a factor of {scale:.2f}, which no static port does: "
            "wrong unit or wrong column"
        )
    return ""
