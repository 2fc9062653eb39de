"""How often aircraft are flagged that should be, and that should not."""

from __future__ import annotations

import numpy as np

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.outliers import judge_fleet
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.standing import Standing
from fleetcal.services.curves.usual_spread import UsualSpread

from .invented_fleet import KAPPA_PER_KT, Plan, draw
from .judge import exact_verdicts, knowing_verdicts

LEVEL = 0.05
#: A departure below this everywhere is not worth a flag, kt.
WORTH_KT = 2.0


def flagged(plan: Plan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return what one invented fleet gave.

    Four pairs (all offset aircraft flagged, any other flagged), each 0 or 1:
    by adjusted p-value alone; with a departure of at least 2 kt somewhere; by
    the judge who knows; by the exact test for balanced fleets.
    """
    points = draw(plan, np.random.default_rng(seed))
    verdicts = judge_fleet(points, LEVEL, order, UsualSpread().known)
    sure = verdicts.adjusted < LEVEL
    worth = np.array([worth_a_flag(points, s) for s in verdicts.standings])
    knowing = knowing_verdicts(points, plan) < LEVEL
    exact = exact_verdicts(points) < LEVEL
    bad = np.arange(len(sure)) < len(plan.offsets_kt)
    pairs = [
        (float(np.all(f[bad])), float(np.any(f[~bad])))
        for f in (sure, sure & worth, knowing, exact)
    ]
    if plan.groups > 1 or plan.ragged:
        pairs[-1] = (np.nan, np.nan)
    return tuple(value for pair in pairs for value in pair)


def worth_a_flag(points: FleetPoints, standing: Standing) -> bool:
    """Return whether the departure reaches 2 kt at a speed this aircraft flew."""
    lift = points.x[points.aircraft == standing.aircraft]
    if not len(standing.departure):
        return False
    kappa = curve_basis(lift, len(standing.departure) - 1) @ standing.departure
    speed_share = 0.5 / np.sqrt(lift)  # of 100 kt
    return bool(np.max(np.abs(kappa) * speed_share) >= KAPPA_PER_KT * WORTH_KT)
