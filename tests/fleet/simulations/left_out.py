"""How often the bands hold when aircraft found outside have left the pool."""

from __future__ import annotations

import numpy as np

from fleetcal.fleet.left_out import may_leave
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.outliers import judge_fleet
from fleetcal.fleet.points import FleetPoints
from fleetcal.services.curves.usual_spread import UsualSpread

from .bands import LOOKED_AT_KT
from .flags import LEVEL, worth_a_flag
from .invented_fleet import KAPPA_PER_KT, Plan, draw, lift_at, mean_curve, next_aircraft


def covered_without_outside(plan: Plan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return what one invented fleet gave, judged, left out and fitted as the program does.

    Three times 1 where the 95 % band of the mean of the aircraft that belong
    holds the truth, three times that for one more of them; then whether an
    aircraft that belongs was left out, and half the width of the mean's band at
    the middle speed, kt.
    """
    rng = np.random.default_rng(seed)
    points = draw(plan, rng)
    gone = _left_out(points)
    fit, _ = fit_checked(points.without_aircraft(set(gone)), order)
    lift = lift_at(LOOKED_AT_KT)
    mean, following = fit.mean_band(0, lift), fit.next_band(0, lift)
    truth, one_more = mean_curve(plan, lift), next_aircraft(plan, lift, rng)
    return (
        *((mean.low <= truth) & (truth <= mean.high)).astype(float),
        *((following.low <= one_more) & (one_more <= following.high)).astype(float),
        float(any(number >= len(plan.offsets_kt) for number in gone)),
        float((mean.high - mean.low)[1] / 2.0 / KAPPA_PER_KT),
    )


def _left_out(points: FleetPoints) -> frozenset[int]:
    verdicts = judge_fleet(points, LEVEL, None, UsualSpread().known)
    outside = [
        standing.aircraft
        for standing, adjusted in zip(verdicts.standings, verdicts.adjusted, strict=True)
        if adjusted < LEVEL and worth_a_flag(points, standing)
    ]
    return may_leave(points.group_of, outside)
