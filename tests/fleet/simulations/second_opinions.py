"""Whether another program's curve of the same points is where it should be."""

from __future__ import annotations

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.second_opinion import second_opinion
from fleetcal.services.curves.second_opinion import AGREEMENT

from .bands import LOOKED_AT_KT
from .invented_fleet import Plan, draw, lift_at


def agreeing(plan: Plan, order: int | None, seed: int) -> tuple[float, float]:
    """Tell whether the second curve agrees at the speeds looked at, and whether there is none."""
    points = draw(plan, np.random.default_rng(seed))
    fit, _ = fit_checked(points, order)
    lift = lift_at(np.array(LOOKED_AT_KT))
    try:
        other = second_opinion(points, fit.order)
    except FitError:
        return 0.0, 1.0
    shares = []
    for group in range(points.groups):
        band = fit.mean_band(group, lift)
        centre, _, _ = other.mean_band(group, lift)
        shares.append(np.abs(centre - band.centre) / (0.5 * (band.high - band.low)))
    return float(np.max(shares) <= AGREEMENT), 0.0
