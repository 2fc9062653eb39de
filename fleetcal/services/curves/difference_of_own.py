"""The difference of two airframes' own curves, with a band that holds whatever the two share.

Each own curve leans on the group, of which the other airframe is a part, so that the errors of
the two are not independent, and how they hang together is nowhere worked out. Two bands of 97.5 %
hold both at once in at least 95 of 100 cases however that is (Bonferroni's inequality), so their
far ends bound the difference at least as often. The band is therefore wider than it need be.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import DataError
from fleetcal.services.curves.fitted_group import FittedGroup
from fleetcal.services.curves.speed_grid import (
    bounded_correction_kt,
    lift_at,
    reach_of,
    speed_correction_kt,
)

#: Of each of the two bands.
EACH_LEVEL: Final = 0.975


@dataclass(frozen=True, kw_only=True)
class OwnDifference:
    """Second own curve less first at one airspeed, with a band of at least 95 %."""

    ias_kt: float
    first_kt: float
    second_kt: float
    difference_kt: float
    low_kt: float
    high_kt: float

    @property
    def shown(self) -> bool:
        """Whether the band leaves out no difference."""
        return not self.low_kt <= 0.0 <= self.high_kt


def difference_of_own(
    first: FittedGroup, second: FittedGroup, speeds_kt: Sequence[float]
) -> tuple[OwnDifference, ...]:
    """Return the difference at the speeds that both airframes flew themselves.

    Args:
        first, second: Own curves of two airframes of one type at one weight.
        speeds_kt: Indicated airspeeds at that weight.

    Raises:
        DataError: If they are of different types or at different weights.
    """
    sides = [
        f"{one.called} is a {one.known.type.name} at {one.weight_kg:.0f} kg"
        for one in (first, second)
    ]
    if (first.known.type.name, first.weight_kg) != (second.known.type.name, second.weight_kg):
        raise DataError(
            f"{' and '.join(sides)}: an indicated airspeed does not mean the same for both",
            "compare two airframes of one type at one weight",
        )
    reach = [reach_of(one.known.rows, one.weight_kg) for one in (first, second)]
    both = [v for v in speeds_kt if all(one.by(v) for one in reach)]
    if not both:
        return ()
    one, other = (_ends(fitted, np.array(both)) for fitted in (first, second))
    return tuple(
        OwnDifference(
            ias_kt=ias,
            first_kt=float(one[0][i]),
            second_kt=float(other[0][i]),
            difference_kt=float(other[0][i] - one[0][i]),
            low_kt=float(other[1][i] - one[2][i]),
            high_kt=float(other[2][i] - one[1][i]),
        )
        for i, ias in enumerate(both)
    )


def _ends(fitted: FittedGroup, ias: Array) -> tuple[Array, Array, Array]:
    """Return the correction, and the ends of its band of 97.5 %."""
    lift = lift_at(fitted.known.type, ias, fitted.weight_kg)
    band = fitted.fit.mean_band(fitted.number, lift, EACH_LEVEL)
    return (
        speed_correction_kt(ias, band.centre),
        bounded_correction_kt(ias, band.low),
        bounded_correction_kt(ias, band.high),
    )
