"""What is known of any static port before a flight: weak, and said with every answer it is in.

A correction of a curve about zero whose level, tilt and bend are as likely to be of either sign,
and what no quadratic in lift follows. The sizes are ours. They were held against the airspeed
calibration of a certified four-seat trainer (information manual, model 172S, section 5, figure
5-1, three settings of flaps): its levels are up to 0.05, its tilts up to 0.4, its bends up to 0.7,
and it departs from its quadratics by 0.2 to 0.5 kt. A few points outweigh it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.curve_departure import STEPS, CurveDeparture, log_x, walk_rows
from fleetcal.fleet.points import Array

#: x between which a walk is taken up by a curve: from just above the stall to cruise.
_REACH_X: Final = (0.8, 0.08)
_PLACES: Final = 60
#: Sizes of what lies beyond a quadratic that are tried, over their scale.
_SIZES: Final = np.array([0.15, 0.4, 0.8, 1.3, 2.0])


@dataclass(frozen=True, kw_only=True)
class PortPrior:
    """Standard deviations of what a curve may be, in y.

    Attributes:
        level: At x = 0.25, twice the scaling speed.
        tilt, bend: For each unit of x, and of its square.
        beyond: Scale of the root mean square of what no quadratic follows, half normal.
    """

    level: float = 0.08
    tilt: float = 0.4
    bend: float = 0.7
    beyond: float = 0.0055

    @property
    def information(self) -> Array:
        """Inverse covariance of level, tilt and bend, shape (3, 3)."""
        return np.diag(np.array([self.level, self.tilt, self.bend]) ** -2.0)

    def sizes(self) -> tuple[tuple[float, float], ...]:
        """Return root mean squares of what lies beyond the quadratic, and the chance of each."""
        edges = np.r_[0.0, np.sqrt(_SIZES[:-1] * _SIZES[1:]), np.inf]
        chances = np.diff(special.erf(edges / np.sqrt(2.0)))
        return tuple(zip((self.beyond * _SIZES).tolist(), chances.tolist(), strict=True))

    def departure(self, x: Array, size: float | None = None) -> CurveDeparture:
        """Return what a port may have beyond its quadratic.

        Args:
            x (n,): Where it was flown, which the walk reaches beyond.
            size: Its root mean square, `beyond` when None.
        """
        slow = float(np.log(max([_REACH_X[0], *x])))
        fast = float(np.min(log_x(np.array([_REACH_X[1], *x]))))
        places = np.exp(np.linspace(slow, fast, _PLACES))
        basis = curve_basis(places, 2)
        found = np.linalg.lstsq(basis, walk_rows(places, slow, fast))[0]
        taken = np.asarray(found, dtype=np.float64)
        unit = CurveDeparture(
            slow=slow, fast=fast, taken=taken, mean=np.zeros(STEPS), covariance=np.eye(STEPS)
        )
        share = (self.beyond if size is None else size) ** 2 / float(np.mean(unit.variance(places)))
        return CurveDeparture(
            slow=slow,
            fast=fast,
            taken=taken,
            mean=np.zeros(STEPS),
            covariance=share * np.eye(STEPS),
        )
