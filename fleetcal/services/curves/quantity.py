"""What a pooled curve tells: a unit, words, and the way from the pooled number to it.

The fleet room pools one number over s, proportional to lift coefficient. Of a
position error that is kappa, told as a correction in knots; of a climb or a
glide it is the sine of the path times s, told as a rate. Everything that is
told of a curve goes through one of these, so verdicts, changes and contrasts
are the same code for both.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.services.curves.speed_grid import speed_correction_kt
from fleetcal.wording import decimal, with_sign


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """How a pooled number is told.

    Attributes:
        name: In which a difference shows.
        decimals: That are told of it.
        smallest: A departure below this everywhere is not called outside, however sure.
        convert: From speeds in kt at reference weight and the pooled number to the unit.
        higher, lower: Words for a departure, about its size and the group, such as ``reads {size}
            slower than the group``.
        symbol, lift: Of the pooled number and of s, for the words on the model.
        speed: IAS or CAS.
        departure: What departs, for a heading.
        heading: Of the axis of a figure.
        reject: Command that rejects measurements.
    """

    name: str
    unit: str
    decimals: int
    smallest: float
    convert: Callable[[Array, Array], Array]
    higher: str
    lower: str
    the_same: str
    symbol: str
    lift: str
    speed: str
    departure: str
    heading: str
    reject: str

    def size(self, value: float) -> str:
        """Return a value with its unit, without a sign."""
        return f"{decimal(abs(value), self.decimals)} {self.unit}"

    def signed(self, value: float) -> str:
        """Return a value with its unit and its sign."""
        return f"{with_sign(value, self.decimals)} {self.unit}"

    def band(self, low: float, high: float) -> str:
        """Return a band in words, without the unit."""
        return f"{with_sign(low, self.decimals)} to {with_sign(high, self.decimals)}"

    def departs(self, value: float) -> str:
        """Return a departure from the group in words."""
        if abs(value) < 0.5 * 10.0**-self.decimals:
            return self.the_same
        return (self.higher if value > 0.0 else self.lower).format(size=self.size(value))


def _correction_kt(speeds_kt: Array, kappa: Array) -> Array:
    """Return the correction, a kappa that no flow can have taken as the largest it can."""
    return speed_correction_kt(speeds_kt, np.maximum(kappa, -0.99))


POSITION_ERROR: Final = Quantity(
    name="the position error",
    unit="kt",
    decimals=1,
    smallest=2.0,
    convert=_correction_kt,
    higher="reads {size} slower than the group",
    lower="reads {size} faster than the group",
    the_same="reads as the group",
    symbol="kappa",
    lift="(Vs/Viw)^2",
    speed="IAS",
    departure="its correction",
    heading="correction to add, kt",
    reject="fleetcal points reject",
)
