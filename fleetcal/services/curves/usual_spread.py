"""How much airframes of a type usually differ, which judging one of them supposes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.seen_spread import seen_spread
from fleetcal.fleet.spread_prior import SpreadPrior
from fleetcal.wording import counted, decimal

#: Standard deviation between sound airframes of a type with one static source, kt at 100 kt. Ours:
#: no published figure for light aircraft is known to us.
USUAL_KT: Final = 1.0
#: Airframes that what is supposed counts as much as.
WORTH: Final = 6.0
_TILT_WORTH: Final = 6.0
_KAPPA_PER_KT: Final = 0.02
#: Tilt over level: between (Vs/Viw)^2 of 0 and 0.5 the tilt makes as much as the level.
_TILT_SHARE: Final = 2.0


@dataclass(frozen=True, kw_only=True)
class UsualSpread:
    """What is supposed of the spread between airframes.

    Attributes:
        kt: Standard deviation of their corrections at 100 kt.
        given: Whether somebody gave it.
        groups: Of other types, that had a part in it.
    """

    kt: float = USUAL_KT
    given: bool = False
    groups: int = 0

    @property
    def known(self) -> SpreadPrior:
        """For the fit, in kappa."""
        level = _KAPPA_PER_KT * self.kt
        return SpreadPrior(
            level=level,
            tilt=_TILT_SHARE * level,
            level_worth=WORTH,
            tilt_worth=_TILT_WORTH,
        )

    def words(self, groups: int, airframes: int) -> str:
        """Say where the spread comes from.

        Args:
            groups, airframes: Of this type.
        """
        if self.given:
            source = "as given"
        elif self.groups:
            source = f"from {counted(self.groups, 'group')} of other types and the default of 1 kt"
        else:
            source = "the default"
        return (
            f"sound airframes supposed to differ by {decimal(self.kt, 1)} kt at 100 kt (standard "
            f"deviation, {source}), which counts as much as {WORTH:.0f} airframes beside the "
            f"{airframes} of {counted(groups, 'group')}"
        )


def learnt_spread(others: Sequence[FleetPoints]) -> UsualSpread:
    """Return the usual spread from the points of other types and the default.

    In the logarithm; a type of many airframes counts as much as the default.
    """
    logs, weights, groups = [np.log(USUAL_KT)], [1.0], 0
    for points in others:
        spread, free, seen = seen_spread(points)
        if seen:
            logs.append(np.log(spread / _KAPPA_PER_KT))
            weights.append(free / (free + WORTH))
            groups += seen
    return UsualSpread(kt=float(np.exp(np.average(logs, weights=weights))), groups=groups)
