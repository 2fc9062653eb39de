"""How often odd aircraft are found by what a club could do instead, on the same fleets.

Each way says which aircraft it would call odd. Hand methods look at the mean correction of an
aircraft in knots, which takes no model; the mixed model is that of a general statistics library.
"""

from __future__ import annotations

import warnings

import numpy as np
import numpy.typing as npt
from scipy import stats

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.outliers import judge_fleet
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.standing import holm
from fleetcal.services.curves.usual_spread import UsualSpread

from .flags import LEVEL, worth_a_flag
from .invented_fleet import KAPPA_PER_KT, SCALING_SPEED_KT, Plan, draw
from .judge import knowing_verdicts

Flags = npt.NDArray[np.bool_]
WAYS = ("fleetcal", "judge who knows", "t test", "3 kt off", "mixed model")
RULE_KT = 3.0
#: It is fitted anew without each aircraft, which takes long: one fleet in so many.
MIXED_MODEL_EVERY = 10


def found_by_each(plan: Plan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return a pair for each of `WAYS`: all odd aircraft flagged, and any other flagged."""
    points = draw(plan, np.random.default_rng(seed))
    verdicts = judge_fleet(points, LEVEL, order, UsualSpread().known)
    worth = np.array([worth_a_flag(points, one) for one in verdicts.standings])
    flags: tuple[Flags, ...] = (
        (verdicts.adjusted < LEVEL) & worth,
        knowing_verdicts(points, plan) < LEVEL,
        _by_t_test(points),
        _off_the_median(points),
    )
    odd = np.arange(len(worth)) < len(plan.offsets_kt)
    if seed % MIXED_MODEL_EVERY == 0:
        flags = (*flags, _by_mixed_model(points))
    found = [(float(np.all(own[odd])), float(np.any(own[~odd]))) for own in flags]
    found += [(np.nan, np.nan)] * (len(WAYS) - len(found))
    return tuple(value for pair in found for value in pair)


def _correction_kt(points: FleetPoints) -> Array:
    """Return the correction of each point in knots at the speed flown."""
    return np.asarray(points.y * SCALING_SPEED_KT / np.sqrt(points.x) / 2.0)


def _aircraft_means(points: FleetPoints) -> Array:
    correction = _correction_kt(points)
    return np.bincount(points.aircraft, correction) / np.bincount(points.aircraft)


def _off_the_median(points: FleetPoints) -> Flags:
    """Return who is more than 3 kt off the median of its group."""
    mean = _aircraft_means(points)
    middle = np.array([np.median(mean[points.group_of == g]) for g in points.group_of])
    return np.asarray(np.abs(mean - middle) > RULE_KT)


def _by_t_test(points: FleetPoints) -> Flags:
    """Return who differs by a two-sample t test of its sortie means from the others' sorties."""
    _, which = np.unique(points.sortie, return_inverse=True)
    mean = np.bincount(which, _correction_kt(points)) / np.bincount(which)
    owner = points.aircraft[np.unique(which, return_index=True)[1]]
    chance = []
    for aircraft, group in enumerate(points.group_of):
        others = (points.group_of[owner] == group) & (owner != aircraft)
        found = stats.ttest_ind(mean[owner == aircraft], mean[others])
        chance.append(float(found.pvalue))
    return np.asarray(holm(chance) < LEVEL)


def _by_mixed_model(points: FleetPoints) -> Flags:
    """Return who lies too far from a mixed model of the others, by Holm's method.

    A quadratic a group and a random level an aircraft, by restricted likelihood; an aircraft's
    mean residual over what spread, scatter and its sorties' points allow is taken as normal.
    """
    from statsmodels.regression.mixed_linear_model import MixedLM

    owner = points.group_of[points.aircraft]
    basis = curve_basis(points.x, 2)
    columns = np.hstack([basis * (owner == g)[:, None] for g in range(points.groups)])
    y, chance = points.y / KAPPA_PER_KT, []
    for aircraft in range(len(points.group_of)):
        mine = points.aircraft == aircraft
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            fit = MixedLM(y[~mine], columns[~mine], groups=points.aircraft[~mine]).fit()
        row = columns[mine].mean(axis=0)
        away = float(np.mean(y[mine] - columns[mine] @ fit.fe_params))
        curve = float(row @ np.asarray(fit.cov_params())[: len(row), : len(row)] @ row)
        variance = float(np.asarray(fit.cov_re)[0, 0]) + fit.scale / mine.sum() + curve
        chance.append(2.0 * float(stats.norm.sf(abs(away) / np.sqrt(variance))))
    return np.asarray(holm(chance) < LEVEL)
