"""How often the two bands hold the truth they are about."""

from __future__ import annotations

import numpy as np

from fleetcal.fleet.pooled import fit_fleet

from .invented_fleet import Plan, draw, lift_at, mean_curve, next_aircraft

#: Slow, middle and fast, within the speeds flown.
LOOKED_AT_KT = np.array([75.0, 100.0, 130.0])


def covered(plan: Plan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return 1 where a 95 % band of one invented fleet holds the truth: mean, then next."""
    rng = np.random.default_rng(seed)
    fit = fit_fleet(draw(plan, rng), order)
    lift = lift_at(LOOKED_AT_KT)
    mean, following = fit.mean_band(0, lift), fit.next_band(0, lift)
    truth, one_more = mean_curve(plan, lift), next_aircraft(plan, lift, rng)
    return (
        *((mean.low <= truth) & (truth <= mean.high)).astype(float),
        *((following.low <= one_more) & (one_more <= following.high)).astype(float),
    )
