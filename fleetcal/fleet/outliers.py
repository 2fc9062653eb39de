"""Which aircraft do not belong: judged one by one, then without those found.

Two bad aircraft can hide each other by widening the spread. So the worst
flagged aircraft is set aside and all are judged again, until nobody new is
flagged; those set aside are judged against what remains.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.pooled import PooledFit, fit_fleet
from fleetcal.fleet.standing import Standing, all_standings, holm


@dataclass(frozen=True)
class Verdicts:
    """Every aircraft judged against the aircraft that were not set aside.

    Attributes
    ----------
    standings : tuple of Standing
    adjusted : ndarray, shape (aircraft,)
        p-values adjusted for the number of aircraft judged; NaN for no verdict.
    suspects : frozenset of int
        Aircraft set aside on the way.
    fit : PooledFit
        Of all aircraft together.
    """

    standings: tuple[Standing, ...]
    adjusted: Array
    suspects: frozenset[int]
    fit: PooledFit


def judge_fleet(points: FleetPoints, level: float = 0.05, order: int | None = None) -> Verdicts:
    """Judge every aircraft of a type.

    Parameters
    ----------
    points : FleetPoints
    level : float
        Chance of any false flag that is accepted.
    order : int, optional
        Order of the curves.

    Returns
    -------
    Verdicts

    Raises
    ------
    FitError
        If a group cannot be fitted.
    """
    fit = fit_fleet(points, order)
    suspects: frozenset[int] = frozenset()
    while True:
        standings = all_standings(points, fit, suspects)
        adjusted = holm([s.p_value for s in standings])
        new = [a for a in np.argsort(adjusted) if adjusted[a] < level and int(a) not in suspects]
        if not new or not _may_lose(points, suspects | {int(new[0])}):
            return Verdicts(standings, adjusted, suspects, fit)
        suspects = suspects | {int(new[0])}


def _may_lose(points: FleetPoints, suspects: frozenset[int]) -> bool:
    """Return whether every group keeps more than half of its aircraft, and three."""
    whole = np.bincount(points.group_of, minlength=points.groups)
    kept = np.array([a not in suspects for a in range(len(points.group_of))])
    left = np.bincount(points.group_of[kept], minlength=points.groups)
    return bool(np.all((left > whole / 2) & (left >= 3)))
