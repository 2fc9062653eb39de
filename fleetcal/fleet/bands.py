"""Bands about a curve, and what makes them wider than the model says."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.fleet.curve_departure import CurveDeparture
from fleetcal.fleet.points import Array


@dataclass(frozen=True)
class Band:
    """A curve and a band about it, in y.

    Attributes:
        centre (n,): Curve of highest restricted likelihood.
        low, high (n,): Averaged over what the data say of the spread, and of how the mean departs
            from the curve.
    """

    centre: Array
    low: Array
    high: Array


def moved_band(band: Band, shift: Array) -> Band:
    """Return a band that lies about its curve with a shift, and reaches to the curve.

    Args:
        shift: Shape (n,).
    """
    low, high = band.low + shift, band.high + shift
    return Band(band.centre, np.minimum(low, band.centre), np.maximum(high, band.centre))


@dataclass(frozen=True)
class Widening:
    """What makes the bands of a group wider than the model says.

    Attributes:
        factor: On the covariance of the mean curve.
        added (p, p): To the covariance of its coefficients.
        departure: Of the mean from the curve; None where the points can show none.
    """

    factor: float
    added: Array
    departure: CurveDeparture | None = None
