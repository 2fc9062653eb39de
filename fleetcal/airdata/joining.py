"""Whether a run flew in the air of the other runs of its flight."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from scipy.special import chdtrc

from fleetcal.airdata.flight_pieces import Stretch, cut
from fleetcal.airdata.moving_wind import Strength, Winds
from fleetcal.airdata.solve_pieces import solve_pieces
from fleetcal.airdata.wind_strengths import TEN_MINUTES_S, AirPrior, likely

#: A wind that drifts does not do so in a straight line: two runs may look as if it did, and the
#: third must not be called odd for it. It wanders by at least this share of its drift.
_LEAST_WANDER: Final = 0.25


def chance_of_joining(run: Sequence[Stretch], others: Sequence[Stretch], prior: AirPrior) -> float:
    """Return the chance of a run being so far from what the others let expect.

    Args:
        run: All of one group, which is the last.
        others: Of the groups before.

    Returns:
        By its wind and by what its pieces differ among themselves together.
    """
    rest = solve_pieces(cut(others), prior)
    every = cut([*others, *run])
    found = solve_pieces(every, prior)
    supposed = np.empty(len(every.time_s))
    of_run = every.group == every.groups - 1
    supposed[~of_run] = rest.supposed_mps
    supposed[of_run] = found.supposed_mps[of_run]
    before = Winds(rest.looked.linear(rest.pieces, rest.wind_mps, rest.kappa, rest.supposed_mps))
    after = Winds(found.looked.linear(every, found.wind_mps, found.kappa, supposed))
    every_strength = prior.tried()
    tried = [one for one in every_strength if not _is_straight(one[0])] or every_strength
    strengths, weight = likely(before, tried)
    apart = np.maximum(after.squares(strengths) - before.squares(strengths), 0.0)
    return float(weight @ chdtrc(after.free - before.free, apart))


def _is_straight(strength: Strength) -> bool:
    wander = float(np.sqrt(strength.walk_mps2_per_s * TEN_MINUTES_S))
    return wander < _LEAST_WANDER * strength.drift_mps2 * TEN_MINUTES_S
