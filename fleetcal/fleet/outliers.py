"""Which aircraft do not belong: the worst are set aside, and judged against what remains.

Two bad aircraft can hide each other by widening the spread, however far off
they are: while one is judged, the other still counts among the rest. So the
aircraft farthest from the middle of their group are taken away one after
another whether or not they look bad yet, each is judged against those left,
and the last one that stands out settles how many are set aside. Source: B.
Rosner, Percentage points for a generalized ESD many-outlier procedure,
Technometrics 25 (1983); the order by medians is ours. In groups as small as
these, looking again behind the worst raises the chance of a false flag from 5
to 8 %, so the level is shared out among the looks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fleetcal.fleet.model_checks import group_misfits
from fleetcal.fleet.points import Array, FleetPoints, Index
from fleetcal.fleet.pooled import PooledFit, fit_fleet
from fleetcal.fleet.spread_prior import SpreadPrior
from fleetcal.fleet.standing import Standing, all_standings, holm, standing_of

#: One aircraft in so many may be set aside, but always two if their groups can spare them.
SHARE_SET_ASIDE: Final = 3
#: Most aircraft that are tried, and the distance from the middle of the group, in
#: standard deviations, below which none is: for time's sake.
MOST_SET_ASIDE: Final = 30
NOT_WORTH_TRYING: Final = 2.0
#: Share of the level for the verdicts themselves, and for calling the second, third and
#: further of the worst aircraft suspect; the first of it grows with the aircraft judged.
LEVEL_SHARES: Final = (0.8, 0.4, 0.1)
#: The same where the spread is known beforehand, which takes less from the others for an
#: aircraft that was set aside.
KNOWN_SHARES: Final = (1.0, 1.0, 0.3)


@dataclass(frozen=True)
class Verdicts:
    """Every aircraft judged against the aircraft that were not set aside.

    Attributes:
        adjusted (aircraft,): p-values adjusted for the number of aircraft judged and for having
            looked behind the worst; NaN for no verdict.
        suspects: Aircraft set aside on the way.
        fit: Of all aircraft together.
    """

    standings: tuple[Standing, ...]
    adjusted: Array
    suspects: frozenset[int]
    fit: PooledFit


def judge_fleet(
    points: FleetPoints,
    level: float = 0.05,
    order: int | None = None,
    known: SpreadPrior | None = None,
) -> Verdicts:
    """Judge every aircraft of a type.

    Args:
        level: Chance of any false flag that is accepted.
        order: Order of the curves.
        known: What is known beforehand of the spread between aircraft.

    Raises:
        FitError: If a group cannot be fitted.
    """
    fit = replace(fit_fleet(points, order), known=known)
    suspects = _set_aside(points, fit, level)
    fit = replace(fit, bends=_bends(points, fit, suspects))
    standings = all_standings(points, fit, suspects)
    return Verdicts(standings, adjusted_chances(standings, fit), suspects, fit)


def _bends(points: FleetPoints, fit: PooledFit, suspects: frozenset[int]) -> Array:
    """Return by how much each curve is doubted for missing the points of those not suspect."""
    if suspects:
        points = points.without_aircraft(set(suspects))
        fit = fit_fleet(points, fit.order)
    return np.array([misfit.deviation**2 for misfit in group_misfits(points, fit)])


def adjusted_chances(standings: Sequence[Standing], fit: PooledFit) -> Array:
    """Return p-values adjusted for the aircraft judged and for having looked behind the worst.

    Args:
        standings: Of all aircraft.
        fit: That they were judged with.

    Returns:
        Shape (aircraft,): NaN for no verdict.
    """
    share = level_share(0, len(standings), fit)
    return np.asarray(np.minimum(holm([s.p_value for s in standings]) / share, 1.0))


def level_share(taken: int, aircraft: int, fit: PooledFit) -> float:
    """Return the share of the level for a look behind so many aircraft.

    From 12 aircraft to 24 the looks become one and the same, and the share grows
    by a quarter. Keeps the false flags in normal samples of 6 to 30 below 5.5 %.

    Args:
        taken: Aircraft set aside before; 0 for the verdicts themselves.
        aircraft: Aircraft judged.
        fit: That they are judged with.
    """
    if fit.known is not None:
        return KNOWN_SHARES[min(taken, len(KNOWN_SHARES) - 1)]
    growth = 1.0 + 0.25 * float(np.clip((aircraft - 12) / 12, 0.0, 1.0))
    return growth * LEVEL_SHARES[min(taken, len(LEVEL_SHARES) - 1)]


def _set_aside(points: FleetPoints, fit: PooledFit, level: float) -> frozenset[int]:
    """Return the worst aircraft, up to the last that stands out from those still left."""
    aircraft = len(points.group_of)
    departure, variance = _own_departures(fit)
    taken: list[int] = []
    count = 0
    for _ in range(min(max(aircraft // SHARE_SET_ASIDE, 2), MOST_SET_ASIDE)):
        left = np.array([a for a in range(aircraft) if a not in taken], dtype=np.int64)
        far = _distances(departure[left], variance[left], points.group_of[left])
        ranked = (
            int(left[i]) for i in np.argsort(-far, kind="stable") if far[i] > NOT_WORTH_TRYING
        )
        worst = next((a for a in ranked if _may_lose(points, frozenset([*taken, a]))), None)
        if worst is None:
            break
        p_value = standing_of(points, worst, fit, frozenset(taken)).p_value
        share = level_share(len(taken), aircraft, fit)
        taken.append(worst)
        if p_value * len(left) < share * level:
            count = len(taken)
    return frozenset(taken[:count])


def _own_departures(fit: PooledFit) -> tuple[Array, Array]:
    """Return each aircraft's level and tilt by its own points, and their variances.

    Of an aircraft flown at one speed, the smallest level and tilt that do.
    """
    k = len(fit.spread)
    lines, covariance = fit.sums.own_lines(k)
    curve = np.einsum("aki,ai->ak", fit.sums.products[:, :k, :-1], fit.beta[fit.sums.group_of])
    departure = lines - np.einsum("akl,al->ak", covariance, curve)
    return departure, fit.phi * np.einsum("akk->ak", covariance)


def _distances(departure: Array, variance: Array, group_of: Index) -> Array:
    """Return how far each aircraft lies from the middle of its group, as bad ones cannot move.

    Medians stay where they are while fewer than half of the aircraft are bad.
    """
    away = departure.copy()
    for group in np.unique(group_of):
        away[group_of == group] -= np.median(departure[group_of == group], axis=0)
    spread = 1.4826 * np.median(np.abs(away), axis=0)  # a standard deviation, of normal values
    far: Array = np.max(np.abs(away) / np.sqrt(spread**2 + variance), axis=1)
    return far


def _may_lose(points: FleetPoints, suspects: frozenset[int]) -> bool:
    """Return whether every group keeps more than half of its aircraft, and three."""
    all_aircraft = np.bincount(points.group_of, minlength=points.groups)
    kept = np.array([a not in suspects for a in range(len(points.group_of))])
    left = np.bincount(points.group_of[kept], minlength=points.groups)
    return bool(np.all((left > all_aircraft / 2) & (left >= 3)))
